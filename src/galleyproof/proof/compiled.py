"""The compiled walk: its struct as Python sees it, and its library where one has been built.

``walk.c`` is compiled when the package is installed, if there is a C compiler. Without it every slip is tried on the
plain machine, which gives the same and takes far longer.
"""

from __future__ import annotations

import ctypes
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zlib import crc32

import numpy as np

FOLDER = Path(__file__).parent
ISLAND, RULE, SUM, GONE = range(4)
"""Kinds of units."""
PLAIN, AC, WORD = range(3)
"""Forms of a value: a number, a phasor, anything else."""
RAW_AC, RAW_DC, LEVELS, SIGNED, ASKED = range(5)
"""How a reading of an island is looked at."""
DONE, FULL, STIFF, FAILED, SUMS_COUNT = range(5)
"""How a walk ends."""

KINDS: dict[str, Any] = {
    "double": np.dtype(np.float64),
    "i4": np.dtype(np.int32),
    "i8": np.dtype(np.int64),
    "u8": np.dtype(np.uint64),
    "u2": np.dtype(np.uint16),
    "flag": np.dtype(np.uint8),
    "phasor": np.dtype(np.complex128),
    "Change": np.dtype("V32"),
    "Move": np.dtype("V24"),
    "Told": np.dtype([("s", "f8"), ("step", "i4"), ("slot", "i4"), ("turn", "i4"), ("value", "i4")]),
    "Taken": np.dtype("V24"),
}
"""Entries of arrays, by their type in walk.c."""


def _fields() -> tuple[tuple[str, str, bool], ...]:
    """Fields of the struct ``Board`` as walk.c has them: type, name, and whether it is an array."""
    source = (FOLDER / "walk.c").read_text(encoding="utf-8")
    body = re.sub(r"/\*.*?\*/", "", source, flags=re.S).partition("} Board;")[0].rpartition("typedef struct {")[2]
    found = []
    for line in body.split(";"):
        kind, _, names = line.strip().partition(" ")
        found += [(kind, name.strip(" *"), "*" in name) for name in names.split(",") if name]
    return tuple(found)


FIELDS = _fields()
_KIND_OF = {name: KINDS[kind] for kind, name, many in FIELDS if many}
Ask = ctypes.CFUNCTYPE(
    ctypes.c_int32, ctypes.c_int32, ctypes.c_int32, ctypes.POINTER(ctypes.c_int32), ctypes.POINTER(ctypes.c_int32)
)
"""Asks a rule: unit, length of the key, key, room for the answer; gives the answer's length, or -1."""


class Struct(ctypes.Structure):
    """The struct ``Board`` of walk.c."""

    _fields_ = [
        (name, ctypes.c_void_p if many else Ask if kind == "Ask" else ctypes.c_int64) for kind, name, many in FIELDS
    ]


class Arrays:
    """The struct with its arrays, which must outlive it."""

    def __init__(self) -> None:
        self.struct = Struct()
        self.at = ctypes.addressof(self.struct)

    if TYPE_CHECKING:

        def __getattr__(self, name: str) -> Any:
            """An array by its name."""

    def lay(self, name: str, shape: int | tuple[int, ...], fill: int = 0) -> Any:
        """A new array of the struct."""
        kind = _KIND_OF[name]
        return self.give(name, np.full(shape, fill, kind) if fill else np.zeros(shape, kind))

    def give(self, name: str, made: Any) -> Any:
        """Put an array into the struct."""
        made = np.ascontiguousarray(made, _KIND_OF[name])
        self.__dict__[name] = made
        setattr(self.struct, name, made.ctypes.data)
        return made


def source_mark() -> int:
    """Mark of the source the library has to be built of."""
    return crc32((FOLDER / "walk.c").read_bytes())


@cache
def library() -> Any:
    """The compiled walk, or None where there is none, or one of another source."""
    path = FOLDER / "_walk.so"
    try:
        found = ctypes.CDLL(str(path))
        found.source_mark.restype = ctypes.c_uint32
        found.size_of_board.restype = ctypes.c_int64
        if found.source_mark() != source_mark() or found.size_of_board() != ctypes.sizeof(Struct):
            return None
    except (OSError, AttributeError):
        return None
    pointer, i32, f64 = ctypes.c_void_p, ctypes.c_int32, ctypes.c_double
    found.number_of.argtypes = [pointer, i32, f64, f64]
    found.column_of.argtypes = [pointer, i32]
    found.asked_at.argtypes = [pointer, i32, pointer]
    found.asked_at.restype = ctypes.c_int64
    found.put.argtypes = [pointer, i32, i32, i32, i32, pointer, i32, pointer]
    found.stands.argtypes = [pointer] * 7
    found.dead_ways.argtypes = [pointer] * 4 + [i32] + [pointer] * 4
    for name in ("walked", "walked_first", "all_to_work", "lay_moves", "set_bits", "take_away", "sums_count", "told"):
        getattr(found, name).argtypes = [pointer]
    return found
