"""What every slip reads, packed for a page: every value and every set of slips once, to the last bit.

The stream holds numbers as variable-length integers (seven bits a byte, the lowest first): number of sets; for each
set its length and the steps from slip to slip; then for each probe the places of its right reading, its least and its
largest acceptable one, the number of other readings, and for each of those its place among the values and its set.
Values are the words first, then the numbers (64-bit, little-endian).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

from galleyproof.checkout.model import Reading
from galleyproof.checkout.signatures import Signatures


@dataclass(frozen=True, slots=True)
class Tables:
    """Packed signatures.

    Attributes:
        words: Readings in words, in the order of their places.
        numbers: Readings in numbers, 8 bytes each.
        stream: Sets and probes.
    """

    words: tuple[str, ...]
    numbers: bytes
    stream: bytes


def packed(signatures: Signatures) -> Tables:
    """Signatures as a page takes them.

    Args:
        signatures: What every slip reads.
    """
    expected = signatures.expected
    readings: set[Reading] = {r for changed in signatures.changed for r in changed.values()}
    readings.update(signatures.right)
    readings.update(r for e in expected for r in (e.low, e.high))
    words = sorted(r for r in readings if isinstance(r, str))
    numbers = sorted(float(r) for r in readings if not isinstance(r, str))
    place: dict[Reading, int] = {w: n for n, w in enumerate(words)}
    place |= {v: n for n, v in enumerate(numbers, len(words))}
    others: list[dict[Reading, list[int]]] = [{} for _ in signatures.right]
    for slip, changed in enumerate(signatures.changed):
        for probe, reading in changed.items():
            others[probe].setdefault(reading, []).append(slip)
    sets: dict[tuple[int, ...], int] = {}
    probes = bytearray()
    for right, mine, e in zip(signatures.right, others, expected, strict=True):
        for reading in (right, e.low, e.high):
            probes += _integer(place[reading])
        probes += _integer(len(mine))
        for reading, slips in sorted(mine.items(), key=lambda item: place[item[0]]):
            probes += _integer(place[reading]) + _integer(sets.setdefault(tuple(slips), len(sets)))
    stream = bytearray(_integer(len(sets)))
    for members in sets:
        stream += _integer(len(members))
        before = 0
        for slip in members:
            stream += _integer(slip - before)
            before = slip
    return Tables(tuple(words), b"".join(struct.pack("<d", v) for v in numbers), bytes(stream + probes))


def _integer(value: int) -> bytes:
    found = bytearray()
    while value > 127:
        found.append(value & 127 | 128)
        value >>= 7
    found.append(value)
    return bytes(found)
