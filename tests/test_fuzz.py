"""Do inputs that once showed a fault stay mended, and do a few fresh ones of each kind end well?

The corpus holds one small file for each fault that ``python -m tests.fuzz readers`` has found; the folder's name is the
reader's. That command repeats the long hunt.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from enclosure.errors import LONGEST_LINE, BriefError, Fault, FaultsError, fit_to_print
from tests.fuzz.hunt import inputs, outcome
from tests.fuzz.random_briefs import walk_briefs
from tests.fuzz.readers import READERS, Reader

CORPUS = Path(__file__).parent / "fuzz" / "corpus"
FOUND = sorted(path for path in CORPUS.glob("*/*"))
BY_NAME = {reader.name: reader for reader in READERS}


def test_the_corpus_is_there() -> None:
    assert len(FOUND) >= 20
    assert {path.parent.name for path in FOUND} <= set(BY_NAME)


@pytest.mark.parametrize("path", FOUND, ids=lambda path: f"{path.parent.name}-{path.name}")
def test_what_was_found_stays_mended(path: Path, tmp_path: Path) -> None:
    reader = BY_NAME[path.parent.name]
    assert outcome(reader, tmp_path, path.read_bytes(), path.name.endswith("-deep")) in ("good", "refused")


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
def test_a_few_spoilt_files_of_each_kind(reader: Reader, tmp_path: Path) -> None:
    count = 3 if reader.name.startswith("audit") else 25
    for data, deep in inputs(reader, 0, count):
        assert outcome(reader, tmp_path, data, deep) in ("good", "refused")


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
def test_the_samples_themselves_are_good(reader: Reader, tmp_path: Path) -> None:
    """A hunt that starts from files nobody can read would find nothing."""
    came = [outcome(reader, tmp_path, seed, False) for seed in reader.seeds()]
    # a lone manifest says rightly that the files it lists are gone
    assert set(came) == ({"refused"} if reader.name == "manifest" else {"good"})


def test_random_briefs_end_in_a_design_or_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert walk_briefs(seed=3, count=25, cut=0.05, papers=0.0) == 0
    said = capsys.readouterr().out
    made = int(said.split("made ")[1].split()[0])
    assert 3 <= made < 25, "a fair share is made and a fair share refused, or the draws are no longer random"


@given(st.text(max_size=60).filter(lambda text: "\n" not in text))
def test_nothing_that_a_terminal_would_obey_is_printed(text: str) -> None:
    shown = fit_to_print(text)
    assert shown.isprintable()
    assert not text.isprintable() or shown == text


def test_long_lines_and_long_lists_of_faults_are_cut_short() -> None:
    assert len(fit_to_print("x" * 10_000)) <= LONGEST_LINE
    faults = tuple(Fault("a.toml", n, "key", "9" * 9000, "is wrong") for n in range(500))
    said = str(FaultsError(faults))
    assert said.startswith("500 faults found")
    assert "and 460 more" in said
    assert len(said) < 40 * 3 * LONGEST_LINE
    assert BriefError("a\x1b[31m\tb\n\u202ec").message == "a\\x1b[31m\\tb\n\\u202ec"
