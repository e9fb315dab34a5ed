"""Which errors can reach a person, and with which exit code?

    EnclosureError            anything a person can mend; printed without traceback
    ├── BriefError    (2)     a file could not be read or says something impossible
    │   └── FaultsError       several faults of one or more files, all at once
    ├── DesignError   (1)     the shelter cannot be made as asked
    │   ├── CuttingError      no cutting plan exists (part too large, stock too small)
    │   │   └── ShortageError a finite stock does not hold the parts
    │   └── VerifyError       a finished plan or file failed its independent check
    ├── OutputError   (1)     files could not be written where asked
    └── RangeError    (1)     a value outside the range in which a formula holds

A message names the part, the value, the limit; the hint names the way out.
Both are lower case and carry no full stop. What a file says may stand in them, so whatever a
terminal would obey or hide is made visible, and an overlong line loses its middle.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

LONGEST_LINE = 400
MOST_FAULTS_SHOWN = 40


def fit_to_print(text: str) -> str:
    r"""Return text that is safe on a terminal and short enough to read.

    >>> fit_to_print("a" + chr(27) + "[31m")
    'a\\x1b[31m'
    """
    lines = []
    for line in text.split("\n"):
        if not line.isprintable():
            line = "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in line)
        if len(line) > LONGEST_LINE:
            line = f"{line[: LONGEST_LINE - 100]} ... {line[-60:]}"
        lines.append(line)
    return "\n".join(lines)


class EnclosureError(Exception):
    """An error with a message, an optional way out and an exit code.

    Args:
        message: Part, value and limit.
        hint: The way out, empty when there is none.

    >>> DesignError("panel 7 is 1260 mm wide; the widest sheet is 1219 mm", "use 3 bays").exit_code
    1
    """

    exit_code = 1

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = fit_to_print(message)
        self.hint = fit_to_print(hint)

    def __str__(self) -> str:
        return f"{self.message}\n\nhint: {self.hint}" if self.hint else self.message


class BriefError(EnclosureError):
    """A brief, site, stock or rack file cannot be read or used."""

    exit_code = 2


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in one file.

    Args:
        file: The file as the user named it.
        line: 1-based line of the key, 0 when the fault is of the whole file.
        key: Dotted key, for instance ``plant.height``; empty for the whole file.
        value: What the file says, as text; empty when nothing is there.
        allowed: What would be accepted.
        hint: The way out.
    """

    file: str
    line: int
    key: str
    value: str
    allowed: str
    hint: str = ""

    def __str__(self) -> str:
        where = f"{self.file}:{self.line}" if self.line else self.file
        what = f" {self.key}" if self.key else ""
        said = f" = {self.value}" if self.value else ""
        tail = f"\n    hint: {self.hint}" if self.hint else ""
        return f"{where}:{what}{said}\n    {self.allowed}{tail}"


class FaultsError(BriefError):
    """All the faults of the files read together."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        count = len(faults)
        head = "1 fault" if count == 1 else f"{count} faults"
        more = [f"and {count - MOST_FAULTS_SHOWN} more"] if count > MOST_FAULTS_SHOWN else []
        super().__init__("\n".join([f"{head} found", *map(str, faults[:MOST_FAULTS_SHOWN]), *more]))
        self.faults = faults


class DesignError(EnclosureError):
    """The shelter cannot be made as asked."""


class CuttingError(DesignError):
    """No cutting plan exists for the parts and the stock given."""


class ShortageError(CuttingError):
    """A finite stock does not hold the parts; the message says which and by how much."""


class VerifyError(DesignError):
    """A finished plan or file failed its independent check."""


class OutputError(EnclosureError):
    """Files could not be written where asked."""


class RangeError(EnclosureError, ValueError):
    """A value lies outside the range in which a formula or model holds."""


def nearest(said: str, known: Iterable[str], otherwise: str, quote: str = "") -> str:
    """Return the way out for a name that is not known: the name that was probably meant, or other words.

    >>> nearest("chek", ("check", "make"), "see --help"), nearest("saw", ("check", "make"), "see --help")
    ('did you mean check?', 'see --help')
    """
    from difflib import get_close_matches

    near = get_close_matches(said, tuple(known), n=1, cutoff=0.6)
    return f"did you mean {quote}{near[0]}{quote}?" if near else otherwise
