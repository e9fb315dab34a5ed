"""How does the server hand long work to another process, watch it, and stop it?

One `Helper` is one process. It is started before it is needed; a job that is no longer
wanted is cancelled by ending the process, and a new one is started for the next.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from enclosure.workbench.shelves import Shelves

END_WAIT_S = 3.0


@dataclass(slots=True)
class Job:
    """One piece of long work.

    Args:
        kind: deep, papers or skins.
        text: The brief that it is done for.
        folder: Folder of its own, removed with the job.
        owner: Whose job it is; a newer one of the same owner replaces it.
    """

    kind: str
    text: str
    folder: Path
    owner: str = ""
    number: int = 0
    state: str = "waiting"
    words: str = "waiting for other work to end"
    hint: str = ""
    share: float = 0.0
    parts: dict[str, Any] = field(default_factory=dict)
    value: dict[str, Any] = field(default_factory=dict)

    @property
    def over(self) -> bool:
        """True when nothing more will come."""
        return self.state in ("done", "failed", "cancelled")

    def take(self, answer: dict[str, Any]) -> None:
        """Take one answer of the process."""
        event = answer["event"]
        if event == "progress":
            self.state, self.words, self.share = "working", str(answer["words"]), float(answer["share"])
        elif event == "part":
            self.parts[str(answer["name"])] = answer["value"]
        elif event == "trouble":
            self.state, self.words, self.hint = "failed", str(answer["words"]), str(answer["hint"])
        elif event == "done":
            self.state, self.share, self.value = "done", 1.0, dict(answer["value"])


class Helper:
    """One process for long work: one job at a time, the others wait their turn.

    A newer job of the same owner takes the place of the older one; jobs of other owners are left alone.
    """

    def __init__(self) -> None:
        self._lock = threading.RLock()
        self._process: subprocess.Popen[str] | None = None
        self._job: Job | None = None
        self._queue: list[Job] = []
        self._count = 0
        self._closed = False

    def start(self) -> None:
        """Start the process, so that it is warm when the first job comes."""
        with self._lock:
            self._alive()

    def submit(self, job: Job) -> None:
        """Begin a job, or put it in the queue behind those of other owners."""
        with self._lock:
            if self._closed:
                job.state = "cancelled"
                return
            self._count += 1
            job.number = self._count
            for older in [one for one in (*self._queue, self._job) if one is not None and one.owner == job.owner]:
                self.cancel(older)
            self._queue.append(job)
            self._next()

    def cancel(self, job: Job) -> None:
        """Stop a job, whether it runs or waits."""
        with self._lock:
            if job in self._queue:
                self._queue.remove(job)
                job.state = "cancelled"
            elif job is self._job and not job.over:
                job.state = "cancelled"
                self._kill()
                self._job = None
                self._next()

    def close(self) -> None:
        """End the process for good."""
        with self._lock:
            self._closed = True
            for job in (*self._queue, self._job):
                if job is not None and not job.over:
                    job.state = "cancelled"
            self._queue.clear()
            self._job = None
            self._kill()

    def _next(self) -> None:
        if self._closed or (self._job is not None and not self._job.over) or not self._queue:
            return
        job = self._job = self._queue.pop(0)
        job.words = "starting"
        process = self._alive()
        order = {"kind": job.kind, "number": job.number, "folder": str(job.folder)}
        try:
            assert process.stdin is not None
            process.stdin.write(json.dumps(order) + "\n")
            process.stdin.flush()
        except OSError:
            job.state, job.words = "failed", "the second process went away; try again"

    def _kill(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        try:
            process.wait(END_WAIT_S)
        except subprocess.TimeoutExpired:
            return

    def _alive(self) -> subprocess.Popen[str]:
        if self._process is None or self._process.poll() is not None:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "enclosure.workbench.helper"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
                encoding="utf-8",
            )
            threading.Thread(target=self._read, args=(self._process,), daemon=True).start()
        return self._process

    def _read(self, process: subprocess.Popen[str]) -> None:
        assert process.stdout is not None
        for line in process.stdout:
            answer = json.loads(line)
            with self._lock:
                job = self._job
                if job is not None and answer.get("job") == job.number and not job.over:
                    job.take(answer)
                    if job.over:
                        self._next()
        process.stdout.close()
        with self._lock:
            if process is not self._process:
                return
            self._process = None
            if self._job is not None and not self._job.over:
                self._job.state, self._job.words = "failed", "the second process ended by itself; try again"
            self._next()


class Workshop:
    """The folders of all jobs of one run."""

    def __init__(self) -> None:
        self._root: Path | None = None
        self._count = 0
        self._lock = threading.Lock()

    def job(self, kind: str, text: str, owner: str, shelves: Shelves, names: Callable[[str], dict[str, str]]) -> Job:
        """Return a job with a folder that holds the brief and the two files it names."""
        with self._lock:
            self._count += 1
            if self._root is None:
                self._root = Path(tempfile.mkdtemp(prefix="enclosure-page-"))
            folder = self._root / f"{kind}-{self._count}"
        folder.mkdir()
        for what, name in names(text).items():
            path = shelves.path_of("site" if what == "site" else "stock", name)
            if path is not None:
                ending = "" if name.endswith(".toml") else ".toml"
                shutil.copyfile(path, folder / f"{name}{ending}")
        (folder / "brief.toml").write_text(text, encoding="utf-8", newline="\n")
        return Job(kind, text, folder, f"{owner}:{kind}")

    def drop(self, job: Job | None) -> None:
        """Remove the folder of a job."""
        if job is not None:
            shutil.rmtree(job.folder, ignore_errors=True)

    def close(self) -> None:
        """Remove everything."""
        if self._root is not None:
            shutil.rmtree(self._root, ignore_errors=True)
