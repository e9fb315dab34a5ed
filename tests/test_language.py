"""Is every printed word in the catalogue, and does a second language leave no English behind?"""

from __future__ import annotations

import ast
import gettext
import re
import string
from pathlib import Path

import pytest
import zxingcpp
from pypdf import PdfReader

import enclosure.language as language_module
from enclosure.audit.folder import audit_folder
from enclosure.cli.main import run
from enclosure.errors import BriefError, EnclosureError
from enclosure.language import language, languages, spoken, tr, tr_n
from enclosure.outputs.paper.frame import design_version
from enclosure.pipeline.make import make
from enclosure.pipeline.walk import design_from
from enclosure.shape.names import address
from enclosure.shape.serial import from_json, to_json
from enclosure.templates_home import find_template
from tests.catalogue import HOME, codes, compiled, gathered, read
from tests.paper_pages import outside, overlapping, picture_of, text_of

EVERY = [message for message in gathered() if message.id]
CALLS = {"tr", "tr_n", "tr_as", "later"}
LEAST_SHARE = 0.99
"""Of the sentences of a shipped language that are translated."""


def forms(words: str | tuple[str, ...] | list[str]) -> tuple[str, ...]:
    return (words,) if isinstance(words, str) else tuple(words)


def places(words: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(words) if name is not None}


def test_there_is_a_catalogue_and_a_second_language() -> None:
    assert len(EVERY) > 400
    assert codes()
    assert languages() == ("en", *codes())


def test_the_english_catalogue_holds_every_sentence_of_the_code() -> None:
    """When this fails: python -m tests.catalogue, then translate what is new."""
    from babel.messages.pofile import read_po

    with (HOME / "papers.pot").open("rb") as file:
        kept = {(m.context, forms(m.id)) for m in read_po(file) if m.id}
    assert kept == {(m.context, forms(m.id)) for m in EVERY}


@pytest.mark.parametrize("code", codes())
def test_a_language_is_whole_compiled_and_keeps_every_place_for_a_value(code: str) -> None:
    catalogue = read(code)
    assert (HOME / code / "papers.mo").read_bytes() == compiled(catalogue), "python -m tests.catalogue"
    done = 0
    for message in EVERY:
        said = catalogue.get(message.id, context=message.context)
        assert said is not None, message.id
        if not all(forms(said.string)):
            continue
        done += 1
        wanted = set.union(*(places(words) for words in forms(message.id)))
        for words in forms(said.string):
            assert places(words) <= wanted, message.id
        assert set.union(*(places(words) for words in forms(said.string))) == wanted, message.id
    assert done / len(EVERY) >= LEAST_SHARE


def test_no_sentence_is_looked_up_inside_an_f_string() -> None:
    """The gatherer does not read the insides of f-strings on Python 3.11, so such a sentence would stay English."""
    hidden = []
    for path in sorted(Path(language_module.__file__).parent.rglob("*.py")):
        for text in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            for call in ast.walk(text) if isinstance(text, ast.JoinedStr) and path.parent.name != "audit" else ():
                if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in CALLS:
                    hidden += [(path.name, arg.value) for arg in call.args if isinstance(arg, ast.Constant)]
    assert hidden == []


def test_german_papers_write_numbers_with_a_comma(papers: Path) -> None:
    """A point between figures is left only in the numbers of clauses, tables and versions."""
    lines = (papers / "summary.txt").read_text(encoding="utf-8").splitlines()
    for name in ("packet", "labels", "raising", "report"):
        lines += [line for page in text_of(papers / f"{name}.pdf") for line in page.splitlines()]
    commas = sum(bool(re.search(r"\d,\d", line)) for line in lines)
    cited = r"ASCE|IBC|NDS|NBCC|NEC|EN \d|WAC|Tabelle|Bild|Gleichung|Abschnitt|enclosure \d|7-16|\d+\.\d+\.\d+"
    assert commas > 300
    assert [line for line in lines if re.search(r"\d\.\d", line) and not re.search(cited, line)] == []


def test_the_standard_library_reads_the_catalogue() -> None:
    for code in codes():
        with (HOME / code / "papers.mo").open("rb") as file:
            assert gettext.GNUTranslations(file).gettext("Buying list") != "Buying list"


def test_a_language_is_spoken_in_its_block_only() -> None:
    assert (language(), tr("Buying list")) == ("en", "Buying list")
    with spoken("de"):
        assert tr("Buying list") == "Einkaufsliste"
        assert tr_n("{count} sheet", "{count} sheets", 3).format(count=3) == "3 Tafeln"
        assert tr("no such sentence") == "no such sentence"
        with spoken("en"):
            assert tr("Buying list") == "Buying list"
        assert language() == "de"
    assert language() == "en"
    with pytest.raises(BriefError, match="xx"), spoken("xx"):
        raise AssertionError


def german(tmp_path: Path, name: str) -> Path:
    text = find_template("briefs", name).read_text(encoding="utf-8")
    path = tmp_path / f"{name}.toml"
    path.write_text(text.replace("[papers]\n", '[papers]\nlanguage = "de"\n'), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("german")
    make(german(folder, "tree-fern"), folder / "papers", solids=False)
    return folder / "papers"


def test_the_design_is_the_same_in_both_languages_but_for_its_sentences(tmp_path: Path) -> None:
    english = design_from(find_template("briefs", "tree-fern")).design
    other = design_from(german(tmp_path, "tree-fern")).design
    assert other.language == "de"
    assert other.parts == english.parts
    assert other.fixings == english.fixings
    assert [step.key for step in other.steps] == [step.key for step in english.steps]
    assert all(a.title != b.title for a, b in zip(english.steps, other.steps, strict=True))
    assert from_json(to_json(other)) == other
    assert len(design_version(other)) == 6


def test_german_papers_pass_the_audit(papers: Path) -> None:
    assert not audit_folder(papers).findings


@pytest.mark.parametrize("name", ["packet", "labels", "raising"])
def test_no_english_word_of_the_catalogue_is_left_where_it_is_translated(papers: Path, name: str) -> None:
    """Sentences of the catalogue, cut at their places for values, against the text of the pages.

    Names of materials, hardware, plant and shelter come from the user's own files; words that both
    languages share stand in the translations themselves.
    """
    text = " ".join(" ".join(text_of(papers / f"{name}.pdf")).split())
    design = from_json((papers / "design.json").read_text(encoding="utf-8"))
    own = [m.name for m in design.materials] + [f.name for f in design.fixings] + [design.name, design.plant.name]
    own += [brick.name for brick in design_from(find_template("briefs", "tree-fern")).stock.bricks.values()]
    theirs = " ".join(own)  # a name may be wrapped in its cell, so each of its words counts as theirs
    catalogue = read("de")
    shared = " ".join(" ".join(forms(m.string)) for m in catalogue if m.id)
    left = set()
    for message in EVERY:
        if not all(forms(catalogue.get(message.id, context=message.context).string)):
            continue
        for piece in (one for words in forms(message.id) for one in re.split(r"\{\w+\}|\n", words)):
            plain = piece.strip(" .,;:()/–←↑×%")
            known = re.search(rf"\b{re.escape(plain)}\b", shared) if plain else True
            if len(plain) < 4 or known:
                continue
            whole = rf"(?<![\w-]){re.escape(plain)}(?![\w-])"
            if re.search(whole, text) and not re.search(whole, theirs):
                left.add(plain)
    assert left == set()


@pytest.mark.parametrize("name", ["packet", "labels", "raising", "report"])
def test_german_pages_are_as_clean_as_english_ones(papers: Path, name: str) -> None:
    import pdfplumber

    with pdfplumber.open(papers / f"{name}.pdf") as document:
        for number, page in enumerate(document.pages, start=1):
            assert overlapping(page) == [], number
            assert outside(page) == [], number


@pytest.mark.parametrize(("name", "code"), [("packet", "de"), ("labels", "de"), ("raising", "de"), ("report", "de")])
def test_a_pdf_says_its_language_and_has_title_and_bookmarks(papers: Path, name: str, code: str) -> None:
    reader = PdfReader(papers / f"{name}.pdf")
    assert reader.trailer["/Root"]["/Lang"] == code
    assert reader.metadata is not None
    assert "tree fern" in str(reader.metadata.title)
    assert reader.outline


def test_a_label_is_printed_again_in_the_language_of_its_folder(papers: Path, tmp_path: Path) -> None:
    out = tmp_path / "one.pdf"
    assert run(["make", str(papers), "--label", "2", "-o", str(out), "-q"]) == 0
    (code,) = zxingcpp.read_barcodes(picture_of(out, 0, 200))
    design = from_json((papers / "design.json").read_text(encoding="utf-8"))
    with spoken("de"):
        assert code.text.split("\n")[:2] == ["PLATTE 2", address(design.part("2"))]


def test_a_language_that_is_not_there_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = german(tmp_path, "tree-fern")
    path.write_text(path.read_text(encoding="utf-8").replace('"de"', '"tlh"'), encoding="utf-8")
    with pytest.raises(EnclosureError):
        design_from(path)
    assert run(["check", str(path), "-q"]) == 2
    assert "language" in capsys.readouterr().err
