"""How does a shelter become one page that opens anywhere, offline, and only shows?

``shelter.html`` carries everything inside: the drawing with its controls, sizes, checks
and the order of work. Nothing is fetched and nothing can be changed; a content
security policy in the page forbids all but its own scripts and styles, by their hash.
The same shelter always gives the same bytes.

The viewer's files in ``page_files`` are also what the workbench serves.

References:
    [CSP3] W3C Content Security Policy level 3: hashes of inline scripts and styles.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Mapping, Sequence
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import Any

from enclosure.checks.model import Check, worst_first
from enclosure.errors import OutputError
from enclosure.money import money
from enclosure.nesting.plans import Plans
from enclosure.outputs.page_scene import scene_of
from enclosure.outputs.table_rows import buying_list, cut_list
from enclosure.outputs.view_svg import view_svg
from enclosure.shape.model import Design
from enclosure.units import format_length

SERVED = ("three.bundle.js", "viewer.js", "stage.js", "stage.css", "shared.css", "LICENSE-three.txt")


def page_files() -> dict[str, bytes]:
    """Return the viewer's files by name."""
    folder = files("enclosure.outputs") / "page_files"
    return {name: (folder / name).read_bytes() for name in SERVED}


def stage_html() -> str:
    """Return the drawing's place and controls as a piece of HTML."""
    return (files("enclosure.outputs") / "page_files" / "stage.html").read_text(encoding="utf-8")


def scene_json(scene: Mapping[str, Any]) -> str:
    """Return data as JSON that may stand in a script element of an HTML page."""
    text = json.dumps(scene, separators=(",", ":"), ensure_ascii=True)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def write_page(design: Design, plans: Plans | None, path: Path, checks: Sequence[Check] = ()) -> Path:
    """Write the page of a shelter and return its path.

    Raises:
        OutputError: The file cannot be written.
    """
    try:
        path.write_text(shelter_page(design, plans, checks), encoding="utf-8", newline="\n")
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error
    return path


def shelter_page(design: Design, plans: Plans | None = None, checks: Sequence[Check] = ()) -> str:
    """Return the page of a shelter as HTML text.

    Args:
        design: The shelter.
        plans: Its cutting plans; without them parts do not say what they are cut from and no price is shown.
        checks: Rows of the engineer's sheet.
    """
    given = {name: data.decode() for name, data in page_files().items()}
    scripts = [given["three.bundle.js"], given["viewer.js"], given["stage.js"], _START]
    scripts = [text.replace("</script", "<\\/script") for text in scripts]
    styles = [given["shared.css"] + given["stage.css"]]
    scene = scene_json(scene_of(design, _sources(design, plans)))
    policy = (
        f"default-src 'none'; script-src {_hashes(scripts)}; style-src {_hashes(styles)}; img-src data: blob:; "
        "base-uri 'none'; form-action 'none'"
    )
    body = "\n".join(
        (
            f"<h1>{escape(design.name)}</h1>",
            f"<p>{_about(design)}</p>",
            _PICTURE.format(svg=base64.b64encode(view_svg(design).encode()).decode()),
            stage_html(), _facts(design), _check_rows(checks), _price(plans), _order(design), _FOOT,
        )
    )  # fmt: skip
    inner = "".join(f"<script>{text}</script>\n" for text in scripts)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="color-scheme" content="light dark">\n'
        f"<title>{escape(design.name)}: winter shelter</title>\n"
        + "".join(f"<style>{text}</style>\n" for text in styles)
        + f'</head><body><main>\n{body}\n</main>\n<script id="scene" type="application/json">{scene}</script>\n'
        + inner
        + "</body></html>\n"
    )


_START = (
    "const stage = new ShelterStage();"
    "const scene = JSON.parse(document.getElementById('scene').textContent);"
    "stage.system = scene.units === 'inch' ? 1 : 0;"
    "document.getElementById('plain-picture').hidden = stage.viewer !== null;"
    "stage.show(scene, 1);"
)
_PICTURE = (
    '<p id="plain-picture"><img alt="the shelter, seen from front and right" src="data:image/svg+xml;base64,{svg}"></p>'
)
_FOOT = (
    '<p class="soft">The checks are arithmetic from published formulas, not a structural design by a licensed '
    "person; local codes govern. Do not shelter people in it; do not raise it in wind.</p>"
)


def _hashes(texts: Sequence[str]) -> str:
    sums = (base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in texts)
    return " ".join(f"'sha256-{said}'" for said in sums)


def _sources(design: Design, plans: Plans | None) -> dict[str, str]:
    if plans is None:
        return {}
    table = cut_list(design, plans)
    where = table.headers.index("cut from")
    return {str(row[0]): str(row[where]) for row in table.rows if row[where]}


def _long(design: Design, mm: float) -> str:
    return format_length(mm, design.units)


def _about(design: Design) -> str:
    plant = design.plant
    served = f"{plant.winters} winter{'s' if plant.winters != 1 else ''}"
    return escape(f"Winter shelter for {plant.name}, {_long(design, plant.height_mm)} high today, good for {served}.")


def _facts(design: Design) -> str:
    clear = " x ".join(_long(design, side) for side in design.clear_mm)
    outside = " x ".join(_long(design, side) for side in design.outside_mm)
    rows = (
        ("clear inside", f"{clear} (width, depth, height)"), ("outside frame", outside),
        ("parts", f"{len(design.parts)}, of them {len(design.panels())} panels"),
        ("raising", f"{design.raising_method}: {design.raising_reason}"),
    )  # fmt: skip
    pairs = "".join(f"<dt>{escape(head)}</dt><dd>{escape(words)}</dd>" for head, words in rows)
    watch = "".join(f"<li>{escape(words)}</li>" for words in design.warnings)
    return f'<h2>Sizes</h2><dl class="facts">{pairs}</dl>' + (f'<ul class="watch">{watch}</ul>' if watch else "")


def _check_rows(checks: Sequence[Check]) -> str:
    if not checks:
        return ""
    rows = []
    for row in worst_first(tuple(checks)):
        said = "note" if row.advice else "passes" if row.passes else "over 1.00"
        rows.append(
            f"<tr><td>{escape(row.name)}</td><td>{row.utilisation:.2f}</td><td>{said}</td>"
            f"<td>{escape(row.clause)}</td><td>{escape(row.way_out)}</td></tr>"
        )
    head = "<tr><th>check</th><th>of 1.00</th><th>verdict</th><th>by</th><th>way out</th></tr>"
    return (
        "<details><summary><h2>Checks, the tightest first</h2></summary>"
        f'<div class="scroll" tabindex="0" role="region" aria-label="checks"><table><thead>{head}</thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div></details>"
    )


def _price(plans: Plans | None) -> str:
    if plans is None or not plans.buying:
        return ""
    table = buying_list(plans)
    head = "".join(f"<th>{escape(words)}</th>" for words in table.headers)
    cells = [
        "".join(
            f"<td>{money(100 * float(cell))}</td>" if column in table.money else f"<td>{escape(str(cell))}</td>"
            for column, cell in enumerate(row)
        )
        for row in table.rows
    ]
    total = f"{money(plans.total_cents)} {plans.currency}"
    return (
        f"<details><summary><h2>Buying list: {escape(total)}</h2></summary><p>{escape(plans.prices_note)}</p>"
        f'<div class="scroll" tabindex="0" role="region" aria-label="buying list"><table><thead><tr>{head}</tr></thead>'
        f"<tbody>{''.join(f'<tr>{row}</tr>' for row in cells)}</tbody></table></div></details>"
    )


def _order(design: Design) -> str:
    parts = []
    for phase, name in (("first build", "First build, once"), ("raising", "Each autumn"), ("take-down", "Each spring")):
        steps = [step for step in design.steps if step.phase == phase]
        items = "".join(f"<li><strong>{escape(s.title)}.</strong> {escape(s.text)}</li>" for s in steps)
        if items:
            parts.append(f"<details><summary><h2>{name}</h2></summary><ol>{items}</ol></details>")
    return "".join(parts)
