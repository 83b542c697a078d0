"""What stands in the entries of a log that are no readings, and how it is read again.

A note begins with the key of the probe it is about, in brackets; a caution read names its stage; a signature is the
name and, after a bar, what a finger drew.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from galleyproof.checkout.log import DONE, NOTE, SIGNATURE, Entry
from galleyproof.checkout.model import Stage
from galleyproof.checkout.standing import standing

__all__ = [
    "MOST_STROKES",
    "drawn_paths",
    "notes_of",
    "readers_of_cautions",
    "signature_fault",
    "signatures_of",
    "strokes_of",
]

_NOTE = re.compile(r"^\[(?P<key>[^\[\]]+)\]\s*(?P<words>.*)$")
_CAUTION = "caution read: "
_DRAWN = " | drawn: "
SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
"""A drawn signature: each point two signs, 0 to 61 across and down; strokes are parted by a dot. [-]"""
MOST_STROKES = 60
"""Most strokes of a drawn signature. [-]"""


def notes_of(entries: Iterable[Entry]) -> dict[str, list[tuple[Entry, str]]]:
    """Key of a probe -> notes about it with their words; under the empty key those about the job."""
    found: dict[str, list[tuple[Entry, str]]] = {}
    for entry in standing(entries).get(NOTE, ()):
        match = _NOTE.match(entry.read)
        key, words = (match["key"], match["words"]) if match else ("", entry.read)
        found.setdefault(key, []).append((entry, words))
    return found


def readers_of_cautions(entries: Iterable[Entry]) -> dict[str, list[str]]:
    """Stage -> names of those who have read its caution."""
    found: dict[str, list[str]] = {s.value: [] for s in Stage}
    for entry in standing(entries).get(DONE, ()):
        stage = entry.read.removeprefix(_CAUTION)
        if entry.read.startswith(_CAUTION) and stage in found and entry.by not in found[stage]:
            found[stage].append(entry.by)
    return found


def signatures_of(entries: Iterable[Entry]) -> list[tuple[Entry, str, str]]:
    """Signatures that stand: entry, name, what was drawn (empty when the name was typed)."""
    found = []
    for entry in standing(entries).get(SIGNATURE, ()):
        name, _, drawn = entry.read.partition(_DRAWN)
        found.append((entry, name.strip(), drawn.strip()))
    return found


def strokes_of(drawn: str) -> list[list[tuple[int, int]]]:
    """Strokes of a drawn signature as points, 0 to 61 across and down.

    Raises:
        ValueError: It is not written so.
    """
    strokes = []
    for part in drawn.split("."):
        if len(part) % 2 or not all(s in SIGNS for s in part):
            raise ValueError("a drawn signature is pairs of letters and digits, its strokes parted by dots")
        places = [SIGNS.index(s) for s in part]
        if places:
            strokes.append(list(zip(places[::2], places[1::2], strict=True)))
    if not strokes or len(strokes) > MOST_STROKES:
        raise ValueError(f"a drawn signature has 1 to {MOST_STROKES} strokes; this has {len(strokes)}")
    return strokes


def drawn_paths(drawn: str) -> str:
    """The drawn signature as path data in a box of 186 by 62; empty when there is none or it cannot be read.

    A stroke of one point is a dot.
    """
    try:
        strokes = strokes_of(drawn) if drawn else []
    except ValueError:
        return ""
    return " ".join(
        f"M{3 * s[0][0]} {s[0][1]}" + "".join(f"L{3 * x} {y}" for x, y in (s[1:] or [(s[0][0], s[0][1])]))
        for s in strokes
    )


def signature_fault(read: str) -> str:
    """What is wrong with the text of a signature; empty when nothing is."""
    name, bar, drawn = read.partition(_DRAWN)
    if not name.strip() or name.strip().startswith("|"):
        return "a signature needs the name of who signs; type it beside the drawing"
    if bar:
        try:
            strokes_of(drawn.strip())
        except ValueError as error:
            return f"{error}; draw it again"
    return ""
