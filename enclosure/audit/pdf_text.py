"""Which lines of text stand on each page of a PDF?

A small reader for plain PDF files: a cross-reference table, streams that are bare or
deflated (with or without ASCII85), and subset fonts with a map to Unicode, as
ISO 32000-1 defines them (7.5.4, 7.4, 9.10.3). Enough to read back what this program
writes without asking the library that wrote it, and without another dependency.

Left out: object streams, encryption, pictures, where on the page a line stands.
"""

from __future__ import annotations

import base64
import re
import zlib

MOST_STREAM = 50_000_000
MOST_PAGES = 5000
MOST_CODES = 65_536
_TOKEN = re.compile(rb"/([^\s/\[\]()<>]+)\s+[\d.-]+\s+Tf|\(((?:\\.|[^\\()])*)\)\s*(Tj|')|(T\*|Tm|Td|TD|ET)", re.DOTALL)
_ESCAPE = re.compile(rb"\\([0-7]{1,3}|\r\n|.)", re.DOTALL)
_PLAIN = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}


def pdf_pages(data: bytes) -> list[list[str]]:
    """Return the lines of text of each page, in the order in which they are drawn.

    Raises:
        ValueError: The file is not a whole PDF of the plain kind.
    """
    objects = _Objects(data)
    root = objects.dictionary(_reference(objects.trailer, rb"Root"))
    maps: dict[int, dict[int, str]] = {}
    numbers: list[int] = []
    _page_numbers(objects, _reference(root, rb"Pages"), 0, numbers)
    return [_page(objects, number, maps) for number in numbers]


class _Objects:
    """The numbered objects of a file, found by its cross-reference table."""

    def __init__(self, data: bytes) -> None:
        start = re.findall(rb"startxref\s+(\d+)\s+%%EOF", data)
        if not data.startswith(b"%PDF-") or not start:
            raise ValueError("not a whole PDF")
        table = data[int(start[-1]) :]
        if not table.startswith(b"xref"):
            raise ValueError("no table of objects where the file says it is")
        self.data = data
        head, self.trailer = table.split(b"trailer", 1)
        self.offsets: dict[int, int] = {}
        number = 0
        for line in head.splitlines()[1:]:
            fields = line.split()
            if len(fields) == 2:
                number = int(fields[0])
            elif len(fields) == 3:
                if fields[2] == b"n":
                    self.offsets[number] = int(fields[0])
                number += 1

    def dictionary(self, number: int) -> bytes:
        """Return the text of an object up to its end or its stream."""
        start = self.offsets[number]
        if not re.match(rb"%d\s+0\s+obj" % number, self.data[start : start + 30]):
            raise ValueError(f"object {number} is not where the table says")
        end = min(p for p in (self.data.find(b"endobj", start), self.data.find(b"stream", start)) if p >= 0)
        return self.data[start:end]

    def stream(self, number: int) -> bytes:
        """Return the content of a stream, its filters undone."""
        head = self.dictionary(number)
        start = self.data.index(b"stream", self.offsets[number]) + 6
        start += 2 if self.data[start : start + 2] == b"\r\n" else 1
        length = re.search(rb"/Length\s+(\d+)", head)
        if length is None:
            raise ValueError(f"stream {number} has no length")
        body = self.data[start : start + int(length[1])]
        try:
            if b"ASCII85Decode" in head:
                body = base64.a85decode(b"<~" + body.strip(), adobe=True)
            return _inflated(body) if b"FlateDecode" in head else body
        except zlib.error as error:
            raise ValueError(f"stream {number} is broken: {error}") from error


def _inflated(body: bytes) -> bytes:
    pump = zlib.decompressobj()
    content = pump.decompress(body, MOST_STREAM)
    if pump.unconsumed_tail:
        raise ValueError("a stream swells beyond all reason")
    return content + pump.flush()


def _reference(text: bytes, key: bytes) -> int:
    match = re.search(rb"/" + key + rb"\s+(\d+)\s+0\s+R", text)
    if match is None:
        raise ValueError(f"/{key.decode()} is missing")
    return int(match[1])


def _page_numbers(objects: _Objects, number: int, depth: int, found: list[int]) -> None:
    """Append the numbers of all pages below a node, in order."""
    text = objects.dictionary(number)
    kids = re.search(rb"/Kids\s*\[([^\]]*)\]", text)
    if kids is None:
        found.append(number)
        return
    if depth > 20 or len(found) > MOST_PAGES:
        raise ValueError("the tree of pages has no end")
    for kid in re.findall(rb"(\d+)\s+0\s+R", kids[1]):
        _page_numbers(objects, int(kid), depth + 1, found)


def _page(objects: _Objects, number: int, maps: dict[int, dict[int, str]]) -> list[str]:
    text = objects.dictionary(number)
    listed = re.search(rb"/Font\s*<<(.*?)>>", text, re.DOTALL)
    fonts = listed[1] if listed else objects.dictionary(_reference(text, rb"Font")) if b"/Font" in text else b""
    names = {name: int(which) for name, which in re.findall(rb"/(\S+)\s+(\d+)\s+0\s+R", fonts)}
    for font in names.values():
        if font not in maps:
            maps[font] = _unicode_map(objects, font)
    return _lines(objects.stream(_reference(text, rb"Contents")), {n: maps[f] for n, f in names.items()})


def _unicode_map(objects: _Objects, font: int) -> dict[int, str]:
    """Return the character of each code of a font; codes without a map stand for themselves."""
    head = objects.dictionary(font)
    if b"/ToUnicode" not in head:
        return {}
    text = objects.stream(_reference(head, rb"ToUnicode"))
    known: dict[int, str] = {}
    for block in re.findall(rb"beginbfchar(.*?)endbfchar", text, re.DOTALL):
        for code, character in re.findall(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>", block):
            known[int(code, 16)] = _utf16(character)
    for block in re.findall(rb"beginbfrange(.*?)endbfrange", text, re.DOTALL):
        for low, _, many in re.findall(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*\[([^\]]*)\]", block):
            for step, character in enumerate(re.findall(rb"<([0-9A-Fa-f]+)>", many)):
                known[int(low, 16) + step] = _utf16(character)
        for low, high, first in re.findall(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>", block):
            if int(high, 16) - int(low, 16) > MOST_CODES:
                raise ValueError("a font maps more codes than there are")
            for code in range(int(low, 16), int(high, 16) + 1):
                known[code] = chr(ord(_utf16(first)) + code - int(low, 16))
    return known


def _utf16(digits: bytes) -> str:
    return bytes.fromhex(digits.decode("ascii")).decode("utf-16-be")


def _lines(content: bytes, fonts: dict[bytes, dict[int, str]]) -> list[str]:
    lines: list[str] = []
    line, font = "", dict[int, str]()
    for name, string, shows, moves in _TOKEN.findall(content):
        if name:
            font = fonts.get(name, {})
            continue
        if (moves or shows == b"'") and line:
            lines.append(" ".join(line.split()))
            line = ""
        if shows:
            line += "".join(font.get(code, chr(code)) for code in _ESCAPE.sub(_unescape, string))
    return [text for text in lines if text]


def _unescape(match: re.Match[bytes]) -> bytes:
    what = match[1]
    if what[:1].isdigit():
        return bytes([int(what, 8) & 255])
    return _PLAIN.get(what, what)
