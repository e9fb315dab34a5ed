"""Reading finished PDFs back: text boxes, page limits, fonts, pictures of pages.

Nothing here is shared with the program that writes them.
"""

from __future__ import annotations

import io
from itertools import combinations
from pathlib import Path

import pdfplumber

MM = 72 / 25.4


def words_of(page) -> list[dict]:
    """Strings of a page with their boxes, level and upright ones alike."""
    return page.extract_words(
        keep_blank_chars=True, use_text_flow=True, x_tolerance=1.5, y_tolerance=1.0, extra_attrs=["size"]
    )


def ink_box(word: dict) -> tuple[float, float, float, float]:
    """Box of the letters without the empty space above capitals and below the base line [pt]."""
    spare = 0.16 * word["size"]
    if word.get("upright", True) and word["x1"] - word["x0"] >= 0.3 * word["size"]:
        return (word["x0"], word["top"] + spare, word["x1"], word["bottom"] - spare)
    return (word["x0"] + spare, word["top"] + spare, word["x1"] - spare, word["bottom"] - spare)


def overlapping(page) -> list[tuple[str, str]]:
    """Pairs of strings whose letters lie over each other."""
    boxes = [(*ink_box(word), word["text"]) for word in words_of(page)]
    return [
        (a[4], b[4])
        for a, b in combinations(boxes, 2)
        if a[0] < b[2] - 0.3 and b[0] < a[2] - 0.3 and a[1] < b[3] - 0.3 and b[1] < a[3] - 0.3
    ]


def outside(page, margin_mm: float = 3.0) -> list[str]:
    """Strings that reach beyond the page less a margin."""
    margin = margin_mm * MM
    return [
        word["text"]
        for word in words_of(page)
        if word["x0"] < margin
        or word["top"] < margin
        or word["x1"] > float(page.width) - margin
        or word["bottom"] > float(page.height) - margin
    ]


def font_faults(path: Path) -> list[str]:
    """Names of fonts that are not embedded, asked of pypdf."""
    from pypdf import PdfReader

    faults = []
    for page in PdfReader(path).pages:
        fonts = page["/Resources"].get("/Font", {})
        for font in fonts.values():
            font = font.get_object()
            described = font.get("/FontDescriptor")
            if described is None or "/FontFile2" not in described.get_object():
                faults.append(str(font.get("/BaseFont")))
    return faults


def picture_of(path: Path, number: int, dots: int = 150):
    """One page as a picture (pypdfium2)."""
    import pypdfium2

    with pypdfium2.PdfDocument(io.BytesIO(path.read_bytes())) as document:
        return document[number].render(scale=dots / 72).to_pil()


def text_of(path: Path) -> list[str]:
    """Text of every page."""
    with pdfplumber.open(path) as document:
        return [page.extract_text() or "" for page in document.pages]
