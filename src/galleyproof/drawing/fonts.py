"""How wide a text is, in the typeface that ships with the package, and what to do when it is too wide.

Heights are those of capital letters, as drawing standards count them (ISO 3098-1), in millimetres of paper.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

FAMILY = "IBM Plex Sans"
FILES: Mapping[bool, str] = {False: "IBMPlexSans-Regular.ttf", True: "IBMPlexSans-Bold.ttf"}
"""File of the typeface by whether it is bold."""
MIN_HEIGHT_MM = 2.0
"""Least height of a capital letter on any sheet [mm]."""
UNKNOWN = "\ufffd"
"""Stands for a character that the typeface does not have."""
ELLIPSIS = "\u2026"


@dataclass(frozen=True, slots=True)
class Metrics:
    """What is needed of one font file; all numbers in font units.

    Attributes:
        em: Units of one em.
        cap: Height of a capital letter.
        advance: Advance width by character code.
        bounds: Lowest and highest point by character code; missing for blanks.
    """

    em: int
    cap: int
    advance: Mapping[int, int]
    bounds: Mapping[int, tuple[int, int]]


def font_bytes(bold: bool = False) -> bytes:
    """The font file that ships with the package (SIL Open Font License, see OFL.txt beside it)."""
    return (resources.files("galleyproof.drawing") / "typeface" / FILES[bold]).read_bytes()


@lru_cache(maxsize=2)
def metrics(bold: bool = False) -> Metrics:
    """Metrics of the regular or the bold font."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    font = TTFont(io.BytesIO(font_bytes(bold)), lazy=True)
    names: dict[int, str] = font.getBestCmap()
    widths, glyphs = font["hmtx"], font["glyf"]
    advance: dict[int, int] = {}
    bounds: dict[int, tuple[int, int]] = {}
    for code, name in names.items():
        if code < 0x20 or 0x7F <= code < 0xA0 or _odd(code):
            continue
        advance[code] = widths[name][0]
        if code < 0x2400:
            glyph = glyphs[name]
            if glyph.numberOfContours:
                bounds[code] = (glyph.yMin, glyph.yMax)
    return Metrics(font["head"].unitsPerEm, font["OS/2"].sCapHeight, advance, bounds)


def _odd(code: int) -> bool:
    """Marks that change how their neighbours are set: joiners, directions, combining accents, private use."""
    return (
        0x200B <= code <= 0x200F
        or 0x2028 <= code <= 0x202F
        or 0x2060 <= code <= 0x206F
        or 0x0300 <= code <= 0x036F
        or 0xE000 <= code <= 0xF8FF
        or 0xFB00 <= code <= 0xFB4F
        or code == 0xFEFF
    )


@lru_cache(maxsize=1 << 15)
def printable(text: str) -> str:
    """The text on one line, with every character the typeface lacks replaced, so that no other font steps in."""
    import unicodedata

    known = metrics(False).advance
    joined = " ".join(unicodedata.normalize("NFC", text).split())
    return "".join(c if ord(c) in known else UNKNOWN for c in joined)


def em_size(height_mm: float) -> float:
    """Font size that gives capitals of this height [mm]."""
    m = metrics(False)
    return height_mm * m.em / m.cap


@lru_cache(maxsize=1 << 16)
def width(text: str, height_mm: float, bold: bool = False) -> float:
    """Advance width of a text; kerning is left out, so it is at most a little too wide [mm]."""
    m = metrics(bold)
    blank = m.advance[ord(UNKNOWN)]
    return sum(m.advance.get(ord(c), blank) for c in text) * height_mm / m.cap


def extent(text: str, height_mm: float, bold: bool = False) -> tuple[float, float]:
    """How far a text goes below and above its baseline, both positive upwards [mm]."""
    m = metrics(bold)
    pairs = [m.bounds[ord(c)] for c in text if ord(c) in m.bounds]
    if not pairs:
        return 0.0, 0.0
    scale = height_mm / m.cap
    return min(p[0] for p in pairs) * scale, max(p[1] for p in pairs) * scale


def fit(text: str, room_mm: float, height_mm: float, bold: bool = False) -> str:
    """The text, cut off with an ellipsis where it is wider than its room."""
    text = printable(text)
    if width(text, height_mm, bold) <= room_mm:
        return text
    room = room_mm - width(ELLIPSIS, height_mm, bold)
    kept, used = [], 0.0
    for c in text:
        used += width(c, height_mm, bold)
        if used > room:
            break
        kept.append(c)
    return "".join(kept).rstrip() + ELLIPSIS


def listed(items: Sequence[str], room_mm: float, before: str = "", most: int = 99) -> str:
    """As many of some words as there is room for in a line of the least height, and how many more there are."""
    words = before if items else ""
    for n in range(min(most, len(items)), 0, -1):
        more = f" +{len(items) - n}" if n < len(items) else ""
        words = printable(f"{before}{', '.join(items[:n])}{more}")
        if width(words, MIN_HEIGHT_MM) <= room_mm:
            return words
    return fit(words, room_mm, MIN_HEIGHT_MM)


def wrap(text: str, room_mm: float, height_mm: float, bold: bool = False, max_lines: int = 99) -> tuple[str, ...]:
    """The text in lines no wider than the room; a word that is too long is broken; what is over gets an ellipsis."""
    words = printable(text).split(" ")
    lines: list[str] = []
    line = ""
    for word in words:
        trial = f"{line} {word}" if line else word
        if width(trial, height_mm, bold) <= room_mm:
            line = trial
            continue
        if line:
            lines.append(line)
        line = word
        while width(line, height_mm, bold) > room_mm and len(line) > 1:
            n = len(line) - 1
            while n > 1 and width(line[:n], height_mm, bold) > room_mm:
                n -= 1
            lines.append(line[:n])
            line = line[n:]
    if line or not lines:
        lines.append(line)
    if len(lines) > max_lines:
        lines = [*lines[: max_lines - 1], fit(" ".join(lines[max_lines - 1 :]), room_mm, height_mm, bold)]
    return tuple(lines)
