"""Do the examples in the docstrings come out as written, and has every public name one?"""

from __future__ import annotations

import doctest
import inspect
import re
from importlib import import_module
from pathlib import Path

import pytest

import enclosure

HOME = Path(enclosure.__file__).parent
WITH_EXAMPLES = sorted(
    "enclosure." + ".".join(path.relative_to(HOME).with_suffix("").parts).removesuffix(".__init__")
    for path in HOME.rglob("*.py")
    if "_templates" not in path.parts and re.search(r"^\s*>>> ", path.read_text(encoding="utf-8"), re.MULTILINE)
)


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_come_out_as_written(name: str) -> None:
    done = doctest.testmod(import_module(name))
    assert done.attempted > 0
    assert done.failed == 0


@pytest.mark.parametrize("name", enclosure.__all__)
def test_every_public_name_says_what_it_takes_gives_and_refuses(name: str) -> None:
    thing = getattr(enclosure, name)
    words = inspect.getdoc(thing) or ""
    assert ">>> " in words, f"{name} has no example"
    assert "Args:" in words or not inspect.signature(thing).parameters
    if inspect.isfunction(thing):
        assert "Raises:" in words
        parameters = set(inspect.signature(thing).parameters)
        told = set(re.findall(r"^    (\w+): ", words.split("Args:")[1].split("Raises:")[0], re.MULTILINE))
        assert parameters <= told, f"{name} does not say {sorted(parameters - told)}"


def test_the_header_of_the_package_lists_every_public_name() -> None:
    header = enclosure.__doc__ or ""
    assert [name for name in enclosure.__all__ if not re.search(rf"\b{name}\b", header)] == []
