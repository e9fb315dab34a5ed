"""How are spoilt files fed to the readers, and what counts as a fault?"""

from __future__ import annotations

import hashlib
import random
import signal
import tempfile
import time
import traceback
import unicodedata
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

from enclosure.errors import EnclosureError
from tests.fuzz.mutate import mutated
from tests.fuzz.readers import READERS, Reader

MOST_SECONDS = 20.0
LONGEST_LINE = 600
MOST_LINES = 2000


class TooLongError(BaseException):
    """One input took more processor time than any honest one."""


@dataclass
class Tally:
    """What came of one reader."""

    runs: int = 0
    good: int = 0
    refused: int = 0
    seconds: float = 0.0
    slowest: float = 0.0
    faults: Counter[str] = field(default_factory=Counter)


def unfit(error: EnclosureError) -> str:
    """Return why the words of an error are not fit to be printed, "" when they are."""
    said = str(error)
    if not error.message.strip():
        return "no words"
    strange = sorted({c for c in said if c != "\n" and unicodedata.category(c) in ("Cc", "Cs", "Cf", "Zl", "Zp")})
    if strange:
        return f"unprintable {strange[0]!r}"
    lines = said.split("\n")
    longest = max(map(len, lines))
    if longest > LONGEST_LINE or len(lines) > MOST_LINES:
        return f"{len(lines)} lines, the longest {longest} characters"
    return ""


def outcome(reader: Reader, folder: Path, data: bytes, deep: bool) -> str:
    """Return "good", "refused", or the fault in a few words."""
    path = folder / reader.file
    path.write_bytes(data)
    signal.signal(signal.SIGVTALRM, _stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, MOST_SECONDS)
    try:
        reader.use(path, deep)
    except EnclosureError as error:
        why = unfit(error)
        return f"{type(error).__name__} with unfit words: {why}" if why else "refused"
    except TooLongError:
        return f"more than {MOST_SECONDS:g} s"
    except Exception as error:
        place = traceback.extract_tb(error.__traceback__)
        ours = [row for row in place if "/enclosure/" in row.filename] or list(place)
        return f"{type(error).__name__} at {Path(ours[-1].filename).name}:{ours[-1].lineno} ({str(error)[:80]})"
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
    return "good"


def _stop(number: int, frame: FrameType | None) -> None:
    raise TooLongError


def inputs(reader: Reader, seed: int, count: int) -> list[tuple[bytes, bool]]:
    """Return the spoilt files of a seed, each with whether it goes deeper."""
    rng, seeds = random.Random(f"{reader.name} {seed}"), reader.seeds()
    return [(mutated(rng, rng.choice(seeds), reader.tree), rng.random() < reader.share) for _ in range(count)]


def hunt(seed: int, count: int, only: list[str], keep: Path | None) -> int:
    """Spoil and read `count` files, spread over the readers; print what came of it."""
    chosen = [reader for reader in READERS if not only or reader.name in only]
    weights = sum(reader.weight for reader in chosen)
    tallies: dict[str, Tally] = {}
    with tempfile.TemporaryDirectory(prefix="fuzz-") as scratch:
        for reader in chosen:
            tally = tallies[reader.name] = Tally()
            share = max(1, round(count * reader.weight / weights))
            folder = Path(scratch) / reader.name
            folder.mkdir()
            for first in range(0, share, 500):
                _some(reader, folder, inputs(reader, seed * 1000 + first // 500, min(500, share - first)), tally, keep)
            print(_row(reader.name, tally), flush=True)
            for fault, times in tally.faults.most_common():
                print(f"    {times} x {fault}", flush=True)
    total = Tally(*(sum(getattr(t, name) for t in tallies.values()) for name in ("runs", "good", "refused", "seconds")))
    total.slowest = max(tally.slowest for tally in tallies.values())
    total.faults.update({"": sum(sum(tally.faults.values()) for tally in tallies.values())})
    print(_row("all", total))
    return 1 if total.faults[""] else 0


def _some(reader: Reader, folder: Path, files: list[tuple[bytes, bool]], tally: Tally, keep: Path | None) -> None:
    for data, deep in files:
        begin = time.process_time()
        came = outcome(reader, folder, data, deep)
        took = time.process_time() - begin
        tally.runs += 1
        tally.seconds += took
        tally.slowest = max(tally.slowest, took)
        tally.good += came == "good"
        tally.refused += came == "refused"
        if came not in ("good", "refused"):
            if keep is not None and not tally.faults[came]:
                (keep / reader.name).mkdir(parents=True, exist_ok=True)
                name = hashlib.sha256(data).hexdigest()[:12] + ("-deep" if deep else "")
                (keep / reader.name / name).write_bytes(data)
            tally.faults[came] += 1


def _row(name: str, tally: Tally) -> str:
    return (
        f"{name:<26}{tally.runs:>8} runs {tally.good:>7} good {tally.refused:>7} refused "
        f"{sum(tally.faults.values()):>5} faults {tally.seconds:>8.1f} s, slowest {tally.slowest:.2f} s"
    )
