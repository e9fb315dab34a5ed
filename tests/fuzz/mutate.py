"""How is a good file spoilt at random, again and again the same way for the same seed?

Three ways, chosen at random: bytes are turned, cut, doubled or put in; words and numbers of the text are
exchanged for nasty or plausible ones; the tree of a TOML or JSON file is changed and written anew.
"""

from __future__ import annotations

import json
import math
import random
import re
import tomllib
from collections.abc import Callable
from typing import Any

Mutation = Callable[[random.Random, bytes], bytes]

NASTY_WORDS = (
    "", " ", "0", "-1", "0 mm", "-0 mm", "-1 mm", "0.0001 mm", "1e400 mm", "1e-400 mm", "1/0 in", "0/0 in", "1/3 in",
    "nan m", "inf m", "-inf m", "8 m", "15 m", "100 m", "6 ft 11 15/16 in", "1 ft 99 in", "6' 5-1/2\\\"", "5", "1,5 m",
    "\u0665 m", "\uff15 m", "\u00bd in", "\u00b2 mm", "5 mm mm", "5mm", "mm", "5 furlongs", "0 K", "-300 degC",
    "1e9 degF", "0 degC", "20 degC", "50 deg", "5 deg", "9 in 12", "2 in 0", "N", "SSE", "360 deg", "100 %", "0 %",
    "60 %", "101 %", "1 kPa", "3 kPa", "90 m/s", "0 W", "6 kW", "a" * 300, "9" * 5000, "1e999999999", "../../../etc",
    "/dev/null", "/", ".", "CON", "\u202eabc", "e\u0301", "\U0001f334", "\\u0000", "\\u001b[31m", "\\n", "\\t", "${x}",
    "%s%n", "{0}", "{allowed}", "<b>", "[red]", "=1+1", "twin-wall-10", "glass-4", "film-200", "foam-50", "2x2", "2x3",
    "ply-9", "flat", "mono", "gable", "x", "y", "front", "roof", "none", "gust", "asce7", "en1991", "nbcc", "C", "II",
    "clay", "inch", "metric", "A4", "Letter", "invented", "memory: x", "published: x",
)  # fmt: skip
NASTY_NUMBERS = (
    "0", "-0", "1", "-1", "2", "3", "4", "7", "30", "31", "1000", "0.1", "1e-320", "1e308", "-1e308", "1e400", "nan",
    "inf", "-inf", "9223372036854775808", "-9223372036854775809", "9" * 400, "0x1f", "1_000", "00", "true", "false",
    "null", "1979-05-27", "07:32:00", "[]", "{}", "[[]]", "''", '""', "NaN", "Infinity",
)  # fmt: skip
NASTY_BYTES = (
    b"\x00", b"\xff", b"\xed\xa0\x80", b"\xc0\xaf", b"\xef\xbb\xbf", b"\xff\xfe", b"\r", b"\r\n", b"\n\n", b"\x1b[2J",
    b"\xe2\x80\xae", b"\xf0\x9f\x8c\xb4", b'"', b"'", b'"""', b"'''", b"\\", b"[", b"]", b"[[", b"{", b"}", b",", b"#",
    b"=", b".", b"<<", b">>", b"stream", b"endobj", b"[" * 3000, b'{"a":' * 3000, b"9" * 5000, b"a.b.c.d = 1\n",
    b"1e999999999", b"\x7f", b"\xc2\x85", b"\xe2\x80\xa8",
)  # fmt: skip
_TOKEN = re.compile(rb'"[^"\n]*"|\'[^\'\n]*\'|[-+]?\d[\w.+-]*|[A-Za-z_][\w-]*')


def mutated(rng: random.Random, data: bytes, tree: str) -> bytes:
    """Return a file spoilt in one of the three ways; `tree` says what kind of tree it holds: toml, json or none."""
    ways: list[Mutation] = [by_bytes, by_words, by_words, by_lines]
    if tree == "toml":
        ways += [by_toml, by_toml]
    elif tree == "json":
        ways += [by_json, by_json]
    return rng.choice(ways)(rng, data)


def by_bytes(rng: random.Random, data: bytes) -> bytes:
    """Turn, cut, double or put in some bytes."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 5, 20))):
        at = rng.randrange(len(out) + 1)
        long = min(rng.choice((1, 2, 8, 64, 1000)), len(out) - at)
        match rng.randrange(6):
            case 0 if at < len(out):
                out[at] ^= 1 << rng.randrange(8)
            case 1:
                del out[at : at + long]
            case 2:
                out[at:at] = out[at : at + long]
            case 3:
                out[at:at] = rng.choice(NASTY_BYTES)
            case 4:
                out[at : at + long] = rng.randbytes(long)
            case 5 if rng.random() < 0.2:
                del out[at:]
    return bytes(out)


def by_words(rng: random.Random, data: bytes) -> bytes:
    """Exchange words, quoted texts and numbers for nasty, plausible or neighbouring ones."""
    spans = [match.span() for match in _TOKEN.finditer(data)]
    if not spans:
        return by_bytes(rng, data)
    chosen = sorted(rng.sample(spans, min(len(spans), rng.choice((1, 1, 1, 2, 3, 6)))), reverse=True)
    out = data
    for start, end in chosen:
        out = out[:start] + _another_word(rng, data, data[start:end], spans) + out[end:]
    return out


def _another_word(rng: random.Random, data: bytes, word: bytes, spans: list[tuple[int, int]]) -> bytes:
    if rng.random() < 0.15:
        start, end = rng.choice(spans)
        return data[start:end]
    if word[:1] in (b'"', b"'"):
        if rng.random() < 0.5:
            inside = re.sub(rb"\d+(\.\d+)?", lambda m: _scaled(rng, m.group()), word[1:-1])
        else:
            inside = rng.choice(NASTY_WORDS).encode()
        return word[:1] + inside + word[-1:]
    if word[:1].isdigit() or word[:1] in (b"-", b"+"):
        return _scaled(rng, word) if rng.random() < 0.5 else rng.choice(NASTY_NUMBERS).encode()
    return rng.choice((*NASTY_WORDS, *NASTY_NUMBERS)).encode()


def _scaled(rng: random.Random, digits: bytes) -> bytes:
    try:
        value = float(digits)
    except ValueError:
        return digits
    way = rng.choice((0.0, 0.01, 0.1, 0.5, 0.9, 1.0, 1.1, 1.5, 2.0, 3.0, 10.0, 1000.0, -1.0))
    value = value * way + rng.choice((0, 0, 0, 1, -1, 0.5, 1e-9))
    if not math.isfinite(value):
        return b"1e999"
    return (str(int(value)) if value == int(value) and abs(value) < 1e15 else f"{value:g}").encode()


def by_lines(rng: random.Random, data: bytes) -> bytes:
    """Leave out, double, exchange or shuffle lines."""
    lines = data.split(b"\n")
    for _ in range(rng.choice((1, 1, 2, 4))):
        a, b = rng.randrange(len(lines)), rng.randrange(len(lines))
        match rng.randrange(5):
            case 0:
                del lines[min(a, b) : min(a, b) + rng.choice((1, 1, 3, 10))]
                lines = lines or [b""]
            case 1:
                lines.insert(b, lines[a])
            case 2:
                lines[a], lines[b] = lines[b], lines[a]
            case 3:
                cells = re.split(rb"([,=])", lines[a])
                cells[rng.randrange(len(cells))] = rng.choice((*NASTY_WORDS, *NASTY_NUMBERS)).encode()
                lines[a] = b"".join(cells)
            case 4:
                lines[a] = lines[a][: rng.randrange(len(lines[a]) + 1)]
    return b"\n".join(lines)


# --- trees --------------------------------------------------------------------------


def by_toml(rng: random.Random, data: bytes) -> bytes:
    """Change the tree of a TOML file and write it anew."""
    try:
        tree = tomllib.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return by_bytes(rng, data)
    return toml_text(_changed(rng, tree)).encode("utf-8", "surrogatepass")


def by_json(rng: random.Random, data: bytes) -> bytes:
    """Change the tree of a JSON file and write it anew."""
    try:
        tree = json.loads(data)
    except (ValueError, RecursionError):
        return by_bytes(rng, data)
    text = json.dumps(_changed(rng, tree), ensure_ascii=rng.random() < 0.5, default=str)
    return text.encode("utf-8", "surrogatepass")


def toml_text(tree: Any) -> str:
    """Return a tree as TOML: tables of tables as inline tables."""
    if not isinstance(tree, dict):
        tree = {"value": tree}
    lines = [f"{_key(key)} = {_inline(value)}" for key, value in tree.items() if not isinstance(value, dict)]
    for key, value in tree.items():
        if isinstance(value, dict):
            lines += ["", f"[{_key(key)}]", *(f"{_key(name)} = {_inline(inner)}" for name, inner in value.items())]
    return "\n".join(lines) + "\n"


def _key(key: object) -> str:
    text = str(key)
    return text if re.fullmatch(r"[A-Za-z0-9_-]+", text) else json.dumps(text)


def _inline(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {_inline(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(_inline, value)) + "]"
    if isinstance(value, str):
        return json.dumps(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value) if value is not None else '"null"'


def _places(tree: Any) -> list[tuple[Any, Any]]:
    """Return every (container, key or index) of a tree."""
    found: list[tuple[Any, Any]] = []
    level = [tree]
    while level:
        here = level.pop()
        entries = here.items() if isinstance(here, dict) else enumerate(here) if isinstance(here, list) else ()
        for key, value in entries:
            found.append((here, key))
            if isinstance(value, dict | list):
                level.append(value)
    return found


def _changed(rng: random.Random, tree: Any) -> Any:
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        places = _places(tree)
        if not places:
            return _nasty(rng)
        home, key = rng.choice(places)
        match rng.randrange(8):
            case 0:
                del home[key]
            case 1:
                home[key] = _nasty(rng)
            case 2 | 3:
                home[key] = _near(rng, home[key])
            case 4:
                other, there = rng.choice(places)
                home[key] = json.loads(json.dumps(other[there], default=str))
            case 5 if isinstance(home, list):
                home.extend(home[key : key + 1] * rng.choice((1, 2, 40)))
            case 6 if isinstance(home, dict):
                home[rng.choice(("x", "", "é", "a.b", str(rng.choice(list(home)))))] = home[key]
            case 7:
                home[key] = [home[key]] if rng.random() < 0.5 else {"x": home[key]}
            case _:
                home[key] = None
    return tree


def _near(rng: random.Random, value: Any) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return rng.choice((0, -value, value * 2, value / 3, value + 1, value * 1e6, value * 0.999, value - 1))
    if isinstance(value, str):
        return re.sub(r"\d+(\.\d+)?", lambda m: _scaled(rng, m.group().encode()).decode(), value)
    if isinstance(value, list):
        return value[::-1] if rng.random() < 0.5 else []
    return {}


def _nasty(rng: random.Random) -> Any:
    return rng.choice((*NASTY_WORDS, *_NASTY_VALUES))


_NASTY_VALUES: tuple[Any, ...] = (
    None, True, False, 0, 1, -1, 2, 30, 1000, 0.5, 1e308, 2**63, 10**400, math.nan, math.inf, -math.inf, [], {}, [[]],
    [1], {"least": "1 m", "most": "1 mm"}, ["x"] * 50, "\x00", "\x1b[31m", "\ud800",
)  # fmt: skip
