"""Does a folder survive SIGKILL at any moment of ``enclosure make``?

A small shelter is made again and again and killed at a moment drawn evenly over the run. One run in ten is the whole
program in a process of its own. One in ten begins where the cutting plans are ready and nothing is written yet (a copy
of this process goes on from there). Eight in ten only fill the scratch folder with finished papers and give it its
name: those are the steps in which something could be lost, and this way many moments of them are met. A third write a
new folder, a third replace a finished one, a third replace one that holds the grower's own file (``--force``).

Under the name there must then be nothing (only where nothing was before), or a whole folder, old or new; the next run
must succeed and leave nothing else beside it (tried after every fifth).
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from enclosure.outputs.folder import MANIFEST, changes_in, whole_folder
from enclosure.pipeline.make import make
from enclosure.templates_home import find_template

MODES = ("new", "replace", "force")
NOTES = "mine.txt"


class _EnoughError(Exception):
    """All kills are done."""


def kill_many(seed: int, count: int) -> int:
    """Kill `count` runs and print what stood there afterwards."""
    rng = random.Random(f"kills {seed}")
    with tempfile.TemporaryDirectory(prefix="fuzz-kills-") as name:
        bench = _Bench(Path(name), rng)
        for number in range(count):
            if number % 10 > 1:
                bench.kill(number, "folder", bench.start_folder)
            elif number % 10 == 1:
                bench.kill(number, "program", bench.start_program)
        with contextlib.suppress(_EnoughError):
            _from_the_writing(bench, list(range(0, count, 10)))
    for words, times in sorted(bench.seen.items()):
        print(f"{times:>6} x {words}")
    print(f"{count} runs, {len(bench.faults)} faults", *bench.faults, sep="\n")
    return 1 if bench.faults else 0


def _from_the_writing(bench: _Bench, numbers: list[int]) -> None:
    """Make the shelter up to the writing, then copy this process once for each kill."""
    parent = os.getpid()

    def say(words: str, share: float) -> None:
        if words != "checks" or os.getpid() != parent:
            return
        for number in numbers:
            if bench.kill(number, "writing", os.fork) is None:
                return  # this is the copy: it goes on with its work
        raise _EnoughError

    try:
        make(bench.brief, bench.target, solids=False, force=True, progress=say)
    finally:
        if os.getpid() != parent:
            os._exit(0)


class _Bench:
    """A folder with a brief and a finished folder, and what came of the kills so far."""

    def __init__(self, home: Path, rng: random.Random) -> None:
        self.home, self.rng = home, rng
        self.target = home / "papers"
        self.brief = _brief(home, "small")
        self.old = home / "old"
        make(_brief(home, "old"), self.old, solids=False)
        self.seen: Counter[str] = Counter()
        self.faults: list[str] = []
        begin = time.monotonic()
        self._finish(self.start_program())
        self.new = home / "new"
        self.target.rename(self.new)
        self.usual = {"program": time.monotonic() - begin}
        self.usual["writing"] = 0.6 * self.usual["program"]
        begin = time.monotonic()
        self._finish(self.start_folder())
        self.usual["folder"] = 1.2 * (time.monotonic() - begin)

    def start_program(self) -> int:
        """Start the program and return the number of its process."""
        command = [sys.executable, "-m", "enclosure.cli.main", "make", str(self.brief), "-o", str(self.target)]
        return subprocess.Popen([*command, "--no-solids", "-q", "--force"]).pid

    def start_folder(self) -> int:
        """Start a copy of this process that only fills and names the folder, and return its number."""
        task = os.fork()
        if not task:
            with contextlib.suppress(Exception), whole_folder(self.target, force=True) as scratch:
                shutil.copytree(self.new, scratch, dirs_exist_ok=True, ignore=shutil.ignore_patterns(MANIFEST))
            os._exit(0)
        return task

    def kill(self, number: int, when: str, start: Callable[[], int]) -> bool | None:
        """Start a run, kill it and look; None in a copy of this process, else whether it could be killed."""
        mode = MODES[(number + number // 10) % 3]
        self._lay(mode)
        delay = self.rng.uniform(0, self.usual[when])
        task = start()
        if not task:
            return None
        time.sleep(delay)
        os.kill(task, signal.SIGKILL)
        killed = self._finish(task) == -signal.SIGKILL
        came, fault = _look(self.target, mode)
        self.seen[f"{when}, {mode}: {'killed' if killed else 'finished first'}, then {came}"] += 1
        if number % 5 == 0:
            fault = fault or self._next_run()
        if fault:
            self.faults.append(f"{number} ({mode}, {when}, {delay:.4f} s): {fault}")
        if len(self.seen) and sum(self.seen.values()) % 25 == 0:
            print(f"{sum(self.seen.values())} done, {len(self.faults)} faults", flush=True)
        return killed

    def _lay(self, mode: str) -> None:
        shutil.rmtree(self.target, ignore_errors=True)
        if mode != "new":
            shutil.copytree(self.old, self.target)
        if mode == "force":
            (self.target / NOTES).write_text("the ring is 12 mm long", encoding="utf-8")

    @staticmethod
    def _finish(task: int) -> int:
        return os.waitstatus_to_exitcode(os.waitpid(task, 0)[1])

    def _next_run(self) -> str:
        """Return what is wrong after the next run: it must succeed and clear away what was left."""
        code = self._finish(self.start_folder())
        left = sorted(path.name for path in self.home.iterdir() if path.name.startswith(".papers"))
        if code not in (0, 3) or changes_in(self.target) != []:
            return f"the next run ended with {code}"
        return f"left behind: {left}" if left else ""


def _brief(home: Path, name: str) -> Path:
    text = find_template("briefs", "potted-lemon").read_text(encoding="utf-8")
    text = text.replace('height = "1.3 m"', 'height = "600 mm"').replace("posts = 6", "")
    path = home / f"{name}.toml"
    path.write_text(text.replace('"potted lemon"', f'"{name}"'), encoding="utf-8")
    return path


def _look(target: Path, mode: str) -> tuple[str, str]:
    """Return what stands under the name, and what is wrong with it."""
    if not target.exists():
        return "nothing there", "" if mode == "new" else "the folder that was there is gone"
    summary = (target / "summary.txt").read_text(encoding="utf-8") if (target / "summary.txt").exists() else ""
    was = "the old one" if summary.startswith("old") else "the new one"
    changes = changes_in(target)
    kept = [f"{NOTES} (added)"] if mode == "force" and was == "the old one" else []
    return was, "" if changes == kept else f"{was} is not whole: {changes}"
