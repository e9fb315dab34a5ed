"""Makes the catalogues of printed words: `python -m tests.catalogue`.

Gathers every sentence inside `tr`, `tr_n`, `tr_as` and `later` into
templates/languages/papers.pot (the English catalogue, complete by construction), brings each
<code>/papers.po up to date with it, and compiles <code>/papers.mo. Nothing of this runs in the
released program, which reads only the .mo through Python's own gettext.

Sentences that lie in other modules as plain data (names of views, states of a panel, groups of
the buying list) are listed in `HELD`.
"""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from enclosure.language import POINT
from enclosure.outputs.dxf_title import _FIELDS
from enclosure.tables.read import table
from enclosure.templates_home import templates_root

ROOT = Path(__file__).resolve().parent.parent / "enclosure"
HOME = templates_root() / "languages"
ALWAYS = datetime(2026, 1, 1, tzinfo=UTC)
KEYWORDS: dict[str, object] = {"tr": None, "later": None, "tr_n": (1, 2), "tr_as": ((1, "c"), 2)}
LOADS = ("wind", "snow")
SOILS = tuple(cells["name"].split(" (")[0] for cells in table("soils"))
HELD: tuple[tuple[str | None, str], ...] = (
    *((None, words) for words in ("skins", "boards", "timber", "track", "hardware", "bricks")),
    *((None, words) for words in ("sheet", "slide", "frame by frame", "left", "right", "front", "back")),
    *((None, words) for words in ("light string", "heating cable", "fan heater", "oil radiator")),
    *((None, words) for words in ("Sill on the base ring", "Roof edge at the front", "Front left corner")),
    *((None, words) for words in ("Between two bays", "cut across the front, front on the left")),
    (None, "seen from above, front at the foot"),
    (None, "first angle"),
    (None, "third angle"),
    ("decimal mark", POINT),
    *((None, words) for words in ("wind", "snow", "each", "m")),
    *((None, f"{how} under {load}") for how in ("sag", "draw from the track", "stress", "pull") for load in LOADS),
    *((None, f"{how}, {load}") for how in ("bending", "shear", "sag") for load in LOADS),
    *((None, words) for words in ("bending and compression", "slenderness", "size of the pane")),
    (None, "pull on a button fixing"),
    *(("wind", f"from the {side}") for side in ("front", "right", "back", "left", "front left", "front right")),
    *(("wind", f"from the {side}") for side in ("back right", "back left")),
    *((None, cells["name"]) for cells in table("timber_nds")),
    *(("between two sizes", words) for words in ("to", "of", "x", "by", "and")),
    *(("soil", words) for words in SOILS),
    *(("source", words) for words in dict.fromkeys(cells["source"] for cells in table("cords"))),
    *(("terrain", words) for words in ("open", "rough")),
    *(("ends as", words) for words in ("keep", "re-cut", "spare")),
    *(("growth", words) for words in ("fast", "likely", "slow")),
    *(("title block", field[3]) for field in _FIELDS),
    *(("face", words) for words in ("FRONT", "RIGHT", "BACK", "LEFT", "ROOF", "ROOF A", "ROOF B", "BASE")),
    *(("to the", words) for words in ("front", "back", "left", "right")),
    *(("frame of the", words) for words in ("front wall", "right wall", "back wall", "left wall", "roof")),
    *(("frame of the", words) for words in ("roof, slope A", "roof, slope B")),
    *(("seen from", words) for words in ("front, right", "back, right", "back, left", "left, front")),
    *(("seen from", words) for words in ("right, front", "front, left", "above")),
)


def gathered() -> Catalog:
    """Return the catalogue of all sentences in the code."""
    found = Catalog(project="enclosure", charset="utf-8", fuzzy=False)
    for path in sorted(ROOT.rglob("*.py")):
        text = io.BytesIO(path.read_bytes())
        for _line, words, _comments, use in extract("python", text, keywords=KEYWORDS):
            found.add(words, context=use)
    for use, words in HELD:
        found.add(words, context=use)
    return found


def read(code: str) -> Catalog:
    """Return the catalogue of a language."""
    with (HOME / code / "papers.po").open("rb") as file:
        return read_po(file, locale=code)


def compiled(catalogue: Catalog) -> bytes:
    """Return a catalogue in the form that gettext reads."""
    catalogue.creation_date = catalogue.revision_date = ALWAYS  # the same sentences give the same bytes
    into = io.BytesIO()
    write_mo(into, catalogue)
    return into.getvalue()


def codes() -> list[str]:
    """Return the codes of all languages beside English."""
    return sorted(path.parent.name for path in HOME.glob("*/papers.po"))


def main() -> None:
    """Bring all catalogues up to date."""
    every = gathered()
    _write(HOME / "papers.pot", every)
    for code in codes():
        catalogue = read(code)
        catalogue.update(every, no_fuzzy_matching=True)
        catalogue.obsolete.clear()
        _write(HOME / code / "papers.po", catalogue)
        (HOME / code / "papers.mo").write_bytes(compiled(catalogue))
        done = sum(1 for message in catalogue if message.id and _said(message.string))
        print(f"{code}: {done} of {sum(1 for message in catalogue if message.id)} sentences")


def _said(words: str | tuple[str, ...]) -> bool:
    return all(words) if isinstance(words, tuple) else bool(words)


def _write(path: Path, catalogue: Catalog) -> None:
    into = io.BytesIO()
    write_po(into, catalogue, width=110, omit_header=False, no_location=True, sort_output=True)
    kept = [line for line in into.getvalue().decode().split("\n") if not line.startswith('"POT-Creation-Date')]
    kept = [line for line in kept if not line.startswith(('"PO-Revision-Date', '"Generated-By', '# '))]
    path.write_text("\n".join(kept).lstrip("\n"), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
