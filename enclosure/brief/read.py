"""How are a brief and the two files it names read, and do their names agree?

`read_all` is the way in for every command: it reads brief, site and stock list and reports the
faults of all three together, with the names that the stock list does not know.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from enclosure.brief.model import FACES, Brief
from enclosure.errors import BriefError, Fault, FaultsError
from enclosure.files.fields import nearest_hint
from enclosure.files.read import (
    Outcome,
    TomlText,
    check_model,
    fault_at,
    load_toml,
    raise_if_faulty,
    read_model,
    take_apart,
)
from enclosure.site.model import Site
from enclosure.site.read import site_outcome
from enclosure.stock.model import Stock
from enclosure.stock.read import names_in, stock_outcome
from enclosure.templates_home import Kind, template_names, templates_root

_NAMED_BY: tuple[tuple[tuple[str, ...], str], ...] = (
    *((("skin", face), "skins") for face in ("all", *FACES)),
    (("frame", "section"), "timbers"),
    (("frame", "roof_section"), "timbers"),
    (("frame", "diagonal"), "timbers"),
    (("frame", "gusset"), "boards"),
    (("bed", "lining"), "boards"),
    (("base_ring", "brick"), "bricks"),
)


def read_brief(path: Path) -> Brief:
    """Return the brief in a file, without looking at the files it names.

    Raises:
        FaultsError: The file cannot be read; all faults together.
    """
    return read_model(path, Brief).sound()


def read_all(path: Path) -> tuple[Brief, Site, Stock]:
    """Return a brief with its site and its stock list.

    Args:
        path: The brief; the two files that it names lie beside it or are shipped ones.

    Returns:
        Three frozen models; lengths in mm, temperatures in °C, wind in m/s, loads in kPa, money as written.

    Raises:
        FaultsError: One of the three cannot be read, or a name in the brief is not in the stock
            list; all faults of all files together.

    >>> from enclosure.templates_home import find_template
    >>> brief, site, stock = read_all(find_template("briefs", "tree-fern"))
    >>> brief.winters, site.design_min_degc, sorted(stock.skins)[0]
    (5, -30.0, 'acrylic-3')
    """
    source = load_toml(path)
    if isinstance(source, Fault):
        raise FaultsError((source,))
    return _all(source, path)


def read_all_text(text: str, path: Path) -> tuple[Brief, Site, Stock]:
    """Return the same for a brief that is not in a file yet but would be written to ``path``.

    Raises:
        FaultsError: As `read_all`.
    """
    source = take_apart(path, text)
    if isinstance(source, Fault):
        raise FaultsError((source,))
    return _all(source, path)


def _all(source: TomlText, path: Path) -> tuple[Brief, Site, Stock]:
    brief = check_model(source, Brief)
    site_path, site_fault = _named_file(source, path, "site", "sites")
    stock_path, stock_fault = _named_file(source, path, "stock", "stock")
    nothing: tuple[Fault, ...] = ()
    site = site_outcome(site_path) if site_path else Outcome[Site](None, None, nothing)
    stock = stock_outcome(stock_path) if stock_path else Outcome[Stock](None, None, nothing)
    names = _unknown_names(source, stock.source) if stock.source is not None else ()
    own = (*brief.faults, *site_fault, *stock_fault, *names, *_unknown_labels(source))
    raise_if_faulty(tuple(sorted(own, key=lambda fault: fault.line)), site.faults, stock.faults)
    if brief.model is None or site.model is None or stock.model is None:
        raise BriefError(f"{path} could not be read", "name its site and its stock list")
    return brief.model, site.model, stock.model


def find_named(beside: Path, name: str, kind: Kind) -> Path | None:
    """Return a file named in a brief: beside the brief first, then among the shipped ones."""
    candidates = [name] if name.endswith(".toml") else [name, f"{name}.toml"]
    for candidate in candidates:
        here = beside.parent / candidate
        if here.is_file():
            return here
    stem = name.removesuffix(".toml")
    return templates_root() / kind / f"{stem}.toml" if stem in template_names(kind) else None


def _named_file(
    source: TomlText, beside: Path, key: str, kind: Kind
) -> tuple[Path | None, tuple[Fault, ...]]:
    name = source.content.get(key)
    if not isinstance(name, str) or not name.strip():
        return None, ()
    found = find_named(beside, name.strip(), kind)
    if found is not None:
        return found, ()
    known = [f"{shipped}.toml" for shipped in template_names(kind)]
    return None, (
        fault_at(
            source,
            (key,),
            "is neither beside the brief nor among the shipped files",
            nearest_hint(name, known, "shipped files"),
        ),
    )


def _at(content: Any, path: tuple[str, ...]) -> Any:
    for part in path:
        content = content.get(part) if isinstance(content, dict) else None
    return content


def _unknown_names(source: TomlText, stock: TomlText) -> tuple[Fault, ...]:
    """Return a fault for every name in the brief that the stock list does not have."""
    faults: list[Fault] = []
    said = _at(source.content, ("frame", "tracks"))
    for name in said.split(",") if isinstance(said, str) else ():
        known = names_in(stock, "tracks")
        if name.strip() and name.strip() not in known:
            words = f"names {name.strip()}, which is not among the tracks of {Path(stock.name).name}"
            faults.append(fault_at(source, ("frame", "tracks"), words, nearest_hint(name, known, "tracks")))
    for path, group in _NAMED_BY:
        said = _at(source.content, path)
        known = names_in(stock, group)
        if isinstance(said, str) and said.strip() not in known:
            faults.append(
                fault_at(
                    source,
                    path,
                    f"is not among the {group} of {Path(stock.name).name}",
                    nearest_hint(said, known, group),
                )
            )
    return tuple(faults)


def _unknown_labels(source: TomlText) -> tuple[Fault, ...]:
    said = _at(source.content, ("papers", "labels"))
    known = template_names("labels")
    if not isinstance(said, str) or said in known:
        return ()
    return (
        fault_at(
            source,
            ("papers", "labels"),
            "is not a label sheet that is known",
            nearest_hint(said, known, "label sheets"),
        ),
    )
