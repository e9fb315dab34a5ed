"""On which line of a TOML file does each key stand?

The standard reader gives values without places. This scan walks a file that the standard reader has
already accepted and notes the line of every key, also inside inline tables and arrays over several
lines. It is run only when a fault has to be shown.
"""

from __future__ import annotations

Path = tuple[str | int, ...]


class _Scan:
    """One walk over one accepted TOML text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.place = 0
        self.line = 1
        self.lines: dict[Path, int] = {}

    def peek(self, count: int = 1) -> str:
        return self.text[self.place : self.place + count]

    def step(self, count: int = 1) -> str:
        taken = self.text[self.place : self.place + count]
        self.line += taken.count("\n")
        self.place += count
        return taken

    def blank(self, across_lines: bool) -> None:
        """Pass over spaces and comments, and line ends when allowed."""
        while self.place < len(self.text):
            sign = self.peek()
            if sign in " \t" or (across_lines and sign in "\r\n"):
                self.step()
            elif sign == "#":
                while self.place < len(self.text) and self.peek() != "\n":
                    self.step()
            else:
                return

    def string(self) -> str:
        quote = self.peek()
        fence = quote * 3 if self.peek(3) == quote * 3 else quote
        self.step(len(fence))
        start = self.place
        while self.place < len(self.text) and self.peek(len(fence)) != fence:
            self.step(2 if quote == '"' and self.peek() == "\\" else 1)
        inside = self.text[start : self.place]
        self.step(len(fence))
        while len(fence) == 3 and self.peek() == quote:
            self.step()
        return inside

    def key(self) -> Path:
        parts: list[str] = []
        while self.place < len(self.text):
            self.blank(False)
            if self.peek() in "\"'":
                parts.append(self.string())
            else:
                start = self.place
                while self.peek() and (self.peek().isalnum() or self.peek() in "_-"):
                    self.step()
                parts.append(self.text[start : self.place])
            self.blank(False)
            if self.peek() != ".":
                break
            self.step()
        return tuple(parts)

    def pair(self, base: Path) -> None:
        line = self.line
        path = base + self.key()
        for end in range(len(base) + 1, len(path) + 1):
            self.lines.setdefault(path[:end], line)
        self.blank(False)
        self.step()
        self.blank(False)
        self.value(path)

    def value(self, path: Path) -> None:
        self.lines.setdefault(path, self.line)
        sign = self.peek()
        if sign in "\"'" and sign:
            self.string()
        elif sign == "[":
            self.array(path)
        elif sign == "{":
            self.inline(path)
        else:
            while self.peek() and self.peek() not in ",]}\n#":
                self.step()

    def array(self, path: Path) -> None:
        self.step()
        number = 0
        while self.place < len(self.text):
            self.blank(True)
            if self.peek() == "]":
                self.step()
                return
            if self.peek() == ",":
                self.step()
                continue
            self.value((*path, number))
            number += 1

    def inline(self, path: Path) -> None:
        self.step()
        while self.place < len(self.text):
            self.blank(True)
            if self.peek() == "}":
                self.step()
                return
            if self.peek() == ",":
                self.step()
                continue
            self.pair(path)

    def document(self) -> None:
        base: Path = ()
        counts: dict[Path, int] = {}
        while True:
            self.blank(True)
            if self.place >= len(self.text):
                return
            if self.peek() == "[":
                double = self.peek(2) == "[["
                line = self.line
                self.step(2 if double else 1)
                base = self._numbered(self.key(), counts, double)
                for end in range(1, len(base) + 1):
                    self.lines.setdefault(base[:end], line)
                self.blank(False)
                self.step(2 if double else 1)
            else:
                self.pair(base)

    @staticmethod
    def _numbered(keys: Path, counts: dict[Path, int], double: bool) -> Path:
        """Return the path of a table header with the running numbers of the arrays it lies in."""
        path: Path = ()
        for depth, key in enumerate(keys):
            path = (*path, key)
            last = depth == len(keys) - 1
            if last and double:
                counts[path] = counts.get(path, -1) + 1
            if path in counts:
                path = (*path, counts[path])
        return path


def key_lines(text: str) -> dict[Path, int]:
    """Return the 1-based line of every key path of a TOML text that the standard reader accepts."""
    scan = _Scan(text)
    scan.document()
    return scan.lines


def line_of(lines: dict[Path, int], path: Path) -> int:
    """Return the line of a key path, or of the nearest table around it, or 0."""
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return 0
