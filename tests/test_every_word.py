"""Does any printed word go past the catalogue?

The papers are written in a language that is none: every letter of the catalogue's sentences is a mark, its
numbers and values stay. A word that can still be read on a finished paper was never looked up there, unless it is
a name of the user's own files, a unit, a part's mark, a file's name or a symbol of a formula.
"""

from __future__ import annotations

import gettext
import itertools
import re
import zlib
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import ezdxf
import openpyxl
import pytest

from enclosure import language
from enclosure.brief.read import read_all
from enclosure.choose.compare import compare
from enclosure.choose.outgrow import Case, outgrow
from enclosure.nesting.cutting import cut_everything
from enclosure.outputs.old_parts import OldParts, label_notes
from enclosure.outputs.paper.label_sheet import read_label_sheet
from enclosure.outputs.paper.labels import write_labels
from enclosure.outputs.paper.packet_grove import write_grove_packet
from enclosure.outputs.plots import living_plots
from enclosure.pipeline.check import inspected
from enclosure.pipeline.grove import plan_grove
from enclosure.pipeline.make import Told, write_papers, write_report
from enclosure.pipeline.walk import Shelter, design_from, rebuild
from enclosure.templates_home import find_template, templates_root
from tests.paper_pages import text_of

CODE = "qq"
MARKS = "¤§"
UNITS = {
    "mm", "cm", "km", "kg", "kPa", "Pa", "MPa", "kN", "Nm", "kWh", "Wh", "in", "ft", "sq", "mph", "psf", "psi", "lb",
    "lbf", "degC", "degF", "deg", "ohm", "mol", "min", "AWG", "mW", "mK", "kJ", "kgK",
}  # fmt: skip
SYMBOLS = {
    "sigma", "tau", "alpha", "beta", "lambda", "pi", "phi", "Phi", "mu", "max", "min", "sqrt", "exp", "ln", "cosh",
    "dT", "EI", "FcE", "Fc", "Fb", "fb", "fc", "fv", "le", "kc", "fcd", "fmd", "Emin", "Cp", "Cs", "Ce", "Ct", "Cb",
    "Ss", "Sr", "Is", "Iw", "Kz", "Kd", "Kzt", "vb", "ve", "ps", "pf", "pm", "pg", "sk", "zmin", "My", "Mg", "Ma",
    "Mt", "Fr", "Cr", "Ar", "Hc", "Mc", "Pe", "Dx", "Dy", "Ti", "Te", "Rsi", "Ts", "To", "Tl", "Tm", "Cd", "Zw", "UA",
    "uz", "iz", "cr", "Iv", "II", "kr", "qp", "kcr", "Hl", "Hr", "mg", "km",
}  # fmt: skip
CODES = {"EN", "ISO", "IBC", "ASCE", "NDS", "NBCC", "NEC", "IEC", "ASTM", "WAC", "ASAE"}


class Marks(gettext.NullTranslations):
    """A catalogue in which every letter outside the places for values is a mark."""

    def gettext(self, message: str) -> str:
        """Return a sentence of marks."""
        bits = zlib.crc32(message.encode())  # sentences of one length come out differently
        marks = (MARKS[bits >> place % 32 & 1] for place in itertools.count())
        return "".join(
            piece if piece.startswith("{") else re.sub(r"[^\W\d_]", lambda letter: next(marks), piece)
            for piece in re.split(r"(\{[^}]*\})", message)
        )

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """Return a sentence of marks."""
        return self.gettext(msgid2)

    def pgettext(self, context: str, message: str) -> str:
        """Return a word of marks, and a comma as the decimal mark."""
        return "," if context == "decimal mark" else self.gettext(message)


@pytest.fixture(scope="module")
def marked() -> Iterator[None]:
    known = language._catalogue
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(language, "_catalogue", lambda code: Marks() if code == CODE else known(code))
        yield


def unsaid(name: str) -> Shelter:
    brief, site, stock = read_all(find_template("briefs", name))
    papers = brief.papers.model_copy(update={"language": CODE})
    return rebuild(brief.model_copy(update={"papers": papers}), site, stock)


def own_words(shelter: Shelter) -> set[str]:
    """Words of the user's files, of file names, and keys of the brief and of checks."""
    design, stock = shelter.design, shelter.stock
    texts = [design.name, design.plant.name, stock.name, stock.currency, stock.prices_note, shelter.site.name]
    texts += [material.name for material in design.materials] + [fixing.name for fixing in design.fixings]
    for shelf in (stock.skins, stock.boards, stock.timbers, stock.tracks, stock.hardware, stock.bricks):
        texts += [text for key, item in shelf.items() for text in (key, item.name, getattr(item, "source", ""))]
    texts += [str(getattr(item, "grade", "")) for item in stock.timbers.values()]
    texts += [read_label_sheet(path).name for path in (templates_root() / "labels").glob("*.toml")]
    texts += ["enclosure calendar ics packet pdf sheet panel detail frame parts elevations track corner bays"]
    texts += ["sill roof edge"]
    return {word.casefold() for word in words_in(" ".join(texts))}


def words_in(text: str) -> list[str]:
    return re.findall(r"[^\W\d_²³⁴⁶]{2,}", text)


def readable(text: str, known: set[str]) -> set[str]:
    """Words that can still be read, marks of parts and what may be read left out."""
    plain = re.sub(r"\b[0-9A-F]{6}\b", " ", text)  # a design's version
    plain = re.sub(r"\[[a-z-]+\]|(?<![^\W\d_])[A-Z]{1,3}-?\d+|\"[^\"]*\"", " ", plain)
    plain = re.sub(r"\b[\w-]+\.(?:pdf|dxf|svg|ics|toml)\b", " ", plain)
    fine = UNITS | SYMBOLS | CODES
    found = {word for word in words_in(plain) if word.casefold() not in known and word not in fine}
    return {word for word in found if word[::-1].casefold() not in known}  # upright words come letter by letter


def drawn_words(path: Path) -> str:
    """Words of a DXF file: texts, values of blocks, what dimensions are overwritten with."""
    document = ezdxf.readfile(path)
    said = []
    for block in document.blocks:
        for entity in block:
            kind = entity.dxftype()
            if kind in ("TEXT", "ATTRIB"):
                said.append(entity.dxf.text)
            elif kind == "MTEXT":
                said.append(entity.plain_text())
            elif kind == "DIMENSION":
                said.append(entity.dxf.text)
            elif kind == "INSERT":
                said += [attribute.dxf.text for attribute in entity.attribs]
    return "\n".join(said)


def pictured_words(path: Path) -> str:
    text = path.read_text(encoding="utf-8")
    texts = re.findall(r"<(?:text|title)[^>]*>([^<]*)<", text) + re.findall(r'aria-label="([^"]*)"', text)
    return unescape("\n".join(texts))


def listed_words(path: Path) -> str:
    book = openpyxl.load_workbook(path)
    cells = [str(cell) for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row if cell]
    return "\n".join([*book.sheetnames, *(cell for cell in cells if not cell.startswith("="))])


def dated_words(path: Path) -> str:
    unfolded = path.read_text(encoding="utf-8").replace("\n ", "")
    rows = re.findall(r"^(?:SUMMARY|DESCRIPTION):(.*)$", unfolded, re.MULTILINE)
    return "\n".join(rows).replace("\\", "")


@pytest.fixture(scope="module", params=["tree-fern", "olive-glass"])
def written(request: pytest.FixtureRequest, marked: None, tmp_path_factory: pytest.TempPathFactory):
    shelter = unsaid(request.param)
    folder = tmp_path_factory.mktemp("marks")
    with language.spoken(CODE):
        found = inspected(shelter)
    plans = cut_everything(shelter.design, shelter.stock)
    write_papers(found, plans, folder, lambda text, share: None, None)
    write_report(found, folder, plots=False, year=2027)
    return shelter, folder


@pytest.mark.parametrize("name", ["packet", "labels", "raising", "report"])
def test_every_word_of_a_paper_is_in_the_catalogue(written: tuple[Shelter, Path], name: str) -> None:
    shelter, folder = written
    text = "\n".join(text_of(folder / f"{name}.pdf"))
    assert text.count(MARKS[0]) > 200
    assert readable(text, own_words(shelter)) == set()


def test_every_word_of_drawings_pictures_lists_and_dates_is_in_the_catalogue(written: tuple[Shelter, Path]) -> None:
    shelter, folder = written
    known = own_words(shelter)
    texts = {path.name: drawn_words(path) for path in sorted((folder / "dxf").glob("*.dxf"))}
    texts |= {path.name: pictured_words(path) for path in sorted((folder / "svg").glob("*.svg"))}
    texts["shelter.svg"] = pictured_words(folder / "shelter.svg")
    texts["lists.xlsx"] = listed_words(folder / "lists.xlsx")
    if (folder / "calendar.ics").exists():
        texts["calendar.ics"] = dated_words(folder / "calendar.ics")
    texts["summary.txt"] = (folder / "summary.txt").read_text(encoding="utf-8")
    assert len(texts) > 20
    assert {name: left for name, text in texts.items() if (left := readable(text, known))} == {}
    assert all(set(MARKS) & set(text) for text in texts.values())


def test_every_word_of_the_pictures_of_the_report_is_in_the_catalogue(marked: None, tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    shelter = unsaid("tree-fern")
    asked = (shelter.brief, shelter.site, shelter.stock)
    with language.spoken(CODE):
        pictures = living_plots(shelter.design, *asked, compare(*asked), kind="pdf")
    assert set(pictures) == {"losses", "winter", "sun", "cost"}
    for name, data in pictures.items():
        path = tmp_path / f"{name}.pdf"
        path.write_bytes(data)
        assert readable("\n".join(text_of(path)), own_words(shelter)) == set(), name


def test_every_word_of_a_grove_and_of_an_old_shelter_is_in_the_catalogue(marked: None, tmp_path: Path) -> None:
    shelter = unsaid("potted-lemon")
    path = tmp_path / "grove.pdf"
    with language.spoken(CODE):
        write_grove_packet(plan_grove([shelter.design] * 2, shelter.stock, cores=1, sheet_work=2000), path)
    known = own_words(shelter)
    assert readable("\n".join(text_of(path)), known) == set()
    old = design_from(find_template("briefs", "potted-lemon")).design
    plant = shelter.brief.plant.model_copy(update={"height_mm": shelter.brief.plant.height_mm + 200.0})
    grown = rebuild(shelter.brief.model_copy(update={"plant": plant}), shelter.site, shelter.stock)
    from enclosure.checks.span import span_limits

    asked = (grown.brief, grown.site, grown.stock)
    with language.spoken(CODE):
        found = outgrow(Case(old, *asked, span_limits(*asked), sheet_work=2000))
        way = next(way for way in found.ways if way.possible)
        told = OldParts(old, found, way, 5.0, {}, {})
        checked = inspected(Shelter(*asked, way.design))
        notes = label_notes(told)
    folder = tmp_path / "papers"
    folder.mkdir()
    write_papers(checked, way.plans, folder, lambda text, share: None, None, Told(told, notes))
    write_labels(way.design, folder / "labels.pdf", notes=notes)
    for name in ("packet", "labels"):
        assert readable("\n".join(text_of(folder / f"{name}.pdf")), known) == set(), name
