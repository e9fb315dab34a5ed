"""Which sites and stock lists may a brief on the page name, and how is it read quickly?

A brief names two files. On the page that name comes from a browser, so it is never
opened as it is: it must be one of the names that this program listed itself, the
shipped ones and those that lie beside the brief given on the command line.

Reading the stock list is most of the time of reading a brief, so a brief that names
the same things as one read before keeps its site and stock as long as their files
have not changed.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from enclosure.brief.model import Brief
from enclosure.brief.read import find_named, read_all_text
from enclosure.errors import Fault, FaultsError
from enclosure.files.fields import nearest_hint
from enclosure.files.read import check_model, take_apart
from enclosure.site.model import Site
from enclosure.site.read import site_outcome
from enclosure.stock.model import Stock
from enclosure.stock.read import stock_outcome
from enclosure.templates_home import template_names

Named = Literal["site", "stock"]
_KINDS: dict[Named, Literal["sites", "stock"]] = {"site": "sites", "stock": "stock"}
_NAMING = ("site", "stock", "skin", "frame", "bed", "base_ring", "papers")
MOST_REMEMBERED = 200
MOST_BESIDE = 40

Models = tuple[Brief, Site, Stock]


class Shelves:
    """The files that briefs of one desk may name.

    Args:
        brief_file: The brief on the command line, None for a brief that has no file yet.
    """

    def __init__(self, brief_file: Path | None = None) -> None:
        # without a file nothing lies beside the brief: a folder that cannot exist
        self.place = brief_file if brief_file is not None else Path("/dev/null/brief.toml")
        self._known: dict[str, tuple[Site, Stock]] = {}
        self._stocks: dict[str, Stock | None] = {}
        self.beside: dict[Named, tuple[str, ...]] = {"site": (), "stock": ()}
        if brief_file is not None:
            self.beside = self._look_beside(brief_file)

    @staticmethod
    def _look_beside(brief_file: Path) -> dict[Named, tuple[str, ...]]:
        found: dict[Named, list[str]] = {"site": [], "stock": []}
        others = [p for p in sorted(brief_file.parent.glob("*.toml")) if p.name != brief_file.name]
        for path in others[:MOST_BESIDE]:
            if not path.is_file():
                continue
            if site_outcome(path).model is not None:
                found["site"].append(path.name)
            elif stock_outcome(path).model is not None:
                found["stock"].append(path.name)
        return {"site": tuple(found["site"]), "stock": tuple(found["stock"])}

    def names(self, what: Named) -> tuple[str, ...]:
        """Return the names that the form offers for the site or the stock list."""
        shipped = [f"{name}.toml" for name in template_names(_KINDS[what])]
        return (*self.beside[what], *(name for name in shipped if name not in self.beside[what]))

    def path_of(self, what: Named, name: str) -> Path | None:
        """Return the file behind a name that was listed here, None for any other name."""
        if name not in self.names(what) and f"{name}.toml" not in self.names(what):
            return None
        return find_named(self.place, name, _KINDS[what])

    def stock_of(self, name: str) -> Stock | None:
        """Return the stock list behind a name that was listed here, None for any other or a faulty one."""
        path = self.path_of("stock", name)
        if path is None:
            return None
        mark = f"{path}:{path.stat().st_mtime_ns}"
        if mark not in self._stocks:
            self._stocks[mark] = stock_outcome(path).model
        return self._stocks[mark]

    def read(self, text: str) -> Models:
        """Return the models of a brief in a text.

        Raises:
            FaultsError: The brief cannot be read; all its faults together.
        """
        source = take_apart(self.place, text)
        if isinstance(source, Fault):
            raise FaultsError((source,))
        self._refuse_strange_names(source.content)
        print_of = self._fingerprint(source.content)
        known = self._known.get(print_of)
        if known is not None:
            outcome = check_model(source, Brief)
            if outcome.model is not None:
                return (outcome.model, *known)
        models = read_all_text(text, self.place)
        if len(self._known) >= MOST_REMEMBERED:
            self._known.clear()
        self._known[print_of] = models[1:]
        return models

    def _refuse_strange_names(self, content: Mapping[str, Any]) -> None:
        faults = []
        for what in _KINDS:
            said = content.get(what)
            if isinstance(said, str) and said.strip() and self.path_of(what, said.strip()) is None:
                names = self.names(what)
                faults.append(
                    Fault(
                        str(self.place), 0, what, f'"{said[:60]}"',
                        "is neither beside the brief nor among the shipped files",
                        nearest_hint(said[:60], names, "files"),
                    )
                )  # fmt: skip
        if faults:
            raise FaultsError(tuple(faults))

    def _fingerprint(self, content: Mapping[str, Any]) -> str:
        marks = []
        for what in _KINDS:
            path = self.path_of(what, str(content.get(what, "")).strip())
            if path is not None:
                state = path.stat()
                marks.append(f"{path}:{state.st_mtime_ns}:{state.st_size}")
        return repr([content.get(name) for name in _NAMING]) + "|".join(marks)
