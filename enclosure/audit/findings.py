"""What did the audit find, and how is it said?

A finding names the file, the part, what stands there and what was expected.
"""

from __future__ import annotations

import binascii
import csv
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from xml.etree import ElementTree

from enclosure.errors import fit_to_print

STUMBLES = (
    ArithmeticError, AssertionError, AttributeError, LookupError, RuntimeError, TypeError, ValueError,
    binascii.Error, csv.Error, struct.error, zipfile.BadZipFile, zlib.error, ElementTree.ParseError,
)  # fmt: skip
"""What reading a spoilt file can end in; any of them is a finding about that file."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that does not agree.

    Args:
        file: File inside the folder, with a slash between folder and name.
        part: Mark of the part, or what else is meant; empty for the whole file.
        found: What stands there, with numbers and units.
        expected: What should stand there.
    """

    file: str
    part: str
    found: str
    expected: str

    def __str__(self) -> str:
        who = f" {self.part}:" if self.part else ""
        return fit_to_print(f"{self.file}:{who} {self.found}; expected {self.expected}")


@dataclass(slots=True)
class Findings:
    """Collects findings and notes in the order in which they turn up; a finding is kept once."""

    rows: list[Finding] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def add(self, file: str, part: str, found: str, expected: str) -> None:
        """Keep one finding."""
        row = Finding(file, part, found, expected)
        if row not in self.rows:
            self.rows.append(row)

    def unless(self, good: bool, file: str, part: str, found: str, expected: str) -> None:
        """Keep one finding when `good` is false."""
        if not good:
            self.add(file, part, found, expected)

    @contextmanager
    def reading(self, file: str, part: str = "") -> Iterator[None]:
        """Turn a stumble over missing or misshapen entries into a finding."""
        try:
            yield
        except STUMBLES as error:
            said = f"cannot be understood ({type(error).__name__}: {error})"
            self.add(file, part, said, "entries as the program writes them")
