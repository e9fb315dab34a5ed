"""Do the papers of shelters that nobody would draw agree with each other too?

Every size, section, skin, roof and option of these briefs is drawn at random; `make` audits each folder before it is
given away and refuses it when two files disagree. ``python -m tests.fuzz briefs --papers 1`` repeats it at length.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from enclosure.audit.folder import audit_folder
from enclosure.errors import EnclosureError, VerifyError
from enclosure.pipeline.make import make
from enclosure.pipeline.walk import design_from
from tests.fuzz.mutate import toml_text
from tests.fuzz.random_briefs import random_brief

FOLDERS, MOST_PARTS = 20, 90


def few_parts(tmp_path: Path, first: int) -> tuple[Path, int]:
    """Return a random brief whose shelter is small enough to be made quickly, and the number of the next."""
    path = tmp_path / "b.toml"
    for number in range(first, first + 500):
        path.write_text(toml_text(random_brief(random.Random(f"papers {number}"))), encoding="utf-8")
        try:
            if len(design_from(path).design.parts) <= MOST_PARTS:
                return path, number + 1
        except VerifyError:
            raise
        except EnclosureError:
            continue
    raise AssertionError("no random brief of few parts")


@pytest.mark.slow
def test_papers_of_random_briefs_agree(tmp_path: Path) -> None:
    number, made = 0, 0
    while made < FOLDERS:
        brief, number = few_parts(tmp_path, number)
        try:
            make(brief, tmp_path / "papers", solids=False, force=True)
        except VerifyError as error:
            pytest.fail(f"brief {number - 1}: {error.message}")
        except EnclosureError:  # a part that no sheet yields, for instance
            continue
        assert audit_folder(tmp_path / "papers").findings == ()
        made += 1
