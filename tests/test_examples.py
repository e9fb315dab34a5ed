"""Every example runs from an empty folder, says something, and stays under 60 lines."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

HOME = Path(__file__).parent.parent
EXAMPLES = sorted((HOME / "examples").glob("[0-9][0-9]_*.py"))


def test_there_are_examples() -> None:
    assert len(EXAMPLES) >= 5
    assert [int(p.name[:2]) for p in EXAMPLES] == list(range(1, len(EXAMPLES) + 1))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_example_runs(path: Path, tmp_path: Path) -> None:
    assert path.read_text(encoding="utf-8").count("\n") < 60
    said = subprocess.run(
        [sys.executable, str(path)],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=300,
        env={**os.environ, "PYTHONPATH": str(HOME)},
    )
    assert said.returncode == 0, said.stderr
    assert said.stdout.strip()
    assert not said.stderr.strip()
    assert list(tmp_path.iterdir()) == []
