"""How is HiGHS started without a word on the screen?

The solver library writes one line with its version to standard output when its
first object is made, before any option can stop it. That would spoil JSON on
standard output, so the first object is made with the output turned away.
"""

from __future__ import annotations

import ctypes
import os
import sys
from functools import cache
from typing import Any


def quiet_highs() -> Any:
    """Return a new HiGHS object that writes nothing and uses one thread."""
    silence_banner()
    import highspy

    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 1)
    return solver


@cache
def silence_banner() -> None:
    """Let the library say its version into nowhere, once in a process."""
    import highspy

    try:
        sys.stdout.flush()
        kept = os.dup(1)
        nowhere = os.open(os.devnull, os.O_WRONLY)
    except OSError:
        return
    try:
        os.dup2(nowhere, 1)
        highspy.Highs()
        # The library writes through C's own buffer, which must be emptied before the way back.
        ctypes.CDLL(None).fflush(None)
    except (OSError, TypeError, AttributeError):
        return
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
