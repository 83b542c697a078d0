"""The compiled walk: its struct as Python sees it, and its library where one has been built.

``walk.c`` is compiled when the package is installed, if there is a C compiler. Without it every slip is tried on the
plain machine, which gives the same and takes far longer.
"""

from __future__ import annotations

import ctypes
from functools import cache
from pathlib import Path
from typing import Any
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

NUMBERS = tuple(
    (
        "n_steps n_slots n_units words memo_size memo_rows value_size value_most out_most event_most "
        "taken_size again_most asked_size put_off_most ins_used outs_used ins_most outs_most "
        "n_values memo_used rows_used at_work n_written n_heard n_events n_base n_agenda n_out n_moved "
        "placed_n run n_taken n_again sums restless_seen asked_n walks steps_taken placed_island set_now set_next "
        "did n_put_off stood stood_set n_changed before_mark now_mark"
    ).split()
)
"""Whole numbers of the struct, in order."""
ARRAYS = tuple(
    tuple(field.split(":"))
    for field in (
        "f:re f:im b:form i:value_at f:after_s i:after_v u:memo_mark i:memo_at i:rows "
        "b:kind b:swapped i:law i:in_at i:in_n i:ins i:out_at i:out_n i:outs i:reader_at i:readers i:more_at i:more "
        "i:writer f:level_of_sum i:isle_int i:isle_float i:ints f:floats "
        "i:parent i:end i:row i:event_at i:event_slot i:event_turn i:event_value f:event_s u:bits "
        "u:unit_bits u:right_bits i:now i:before i:saved i:node i:crew i:crew_n i:own_crew i:own_saved i:stood_in i:stood_out i:stood_unit i:placed i:working i:written i:heard "
        "b:works b:ever b:role b:awake b:queued b:follows b:restless u:touched u:salt u:mine u:theirs i:watch "
        "b:pending f:due_s i:due i:waiting i:queue i:woken i:following i:moved i:move_value i:place i:changed i:told_slot i:column u:told_mark x:step x:again x:changes "
        "i:agenda i:base "
        "i:out_step i:out_slot i:out_turn i:out_value f:out_s y:taken "
        "i:key i:given i:asked l:asked_run l:asked_place l:crew_set "
        "f:largest f:own "
        "i:parent_of i:root_of i:group i:spot i:end_a i:end_b i:dc_a i:dc_b i:from_ i:to "
        "b:fixed b:held b:live b:seen c:held_ac c:held_dc c:ac c:dc c:y_ac c:y_dc c:j_ac c:j_dc c:matrix c:read_ac f:read_dc"
    ).split()
)
"""Arrays of the struct, in order: kind of their entries, and name."""
KINDS: dict[str, Any] = {
    "f": np.float64,
    "i": np.int32,
    "b": np.uint8,
    "u": np.uint64,
    "l": np.int64,
    "c": np.complex128,
    "x": np.dtype("V32"),
    "y": np.dtype("V24"),
}
_KIND_OF = {name: KINDS[kind] for kind, name in ARRAYS}
Ask = ctypes.CFUNCTYPE(
    ctypes.c_int32, ctypes.c_int32, ctypes.c_int32, ctypes.POINTER(ctypes.c_int32), ctypes.POINTER(ctypes.c_int32)
)
"""Asks a rule: unit, length of the key, key, room for the answer; gives the answer's length, or -1."""


class Struct(ctypes.Structure):
    """The struct ``Board`` of walk.c."""

    _fields_ = [  # noqa: RUF012 - ctypes reads it as it is
        *((name, ctypes.c_int64) for name in NUMBERS),
        ("ask", Ask),
        *((name, ctypes.c_void_p) for _, name in ARRAYS),
    ]


class Arrays:
    """The struct with its arrays, which must outlive it."""

    def __init__(self) -> None:
        self.struct = Struct()
        self.at = ctypes.addressof(self.struct)
        self._kept: dict[str, Any] = {}

    def __getattr__(self, name: str) -> Any:
        """An array by its name."""
        try:
            return self.__dict__["_kept"][name]
        except KeyError:
            raise AttributeError(name) from None

    def lay(self, name: str, shape: int | tuple[int, ...], fill: int = 0) -> Any:
        """A new array of the struct."""
        kind = _KIND_OF[name]
        return self.give(name, np.full(shape, fill, kind) if fill else np.zeros(shape, kind))

    def give(self, name: str, made: Any) -> Any:
        """Put an array into the struct."""
        made = np.ascontiguousarray(made, _KIND_OF[name])
        self._kept[name] = made
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
    found.lay_changes.argtypes = [pointer, ctypes.c_int64]
    for name in ("walked", "walked_first", "all_to_work", "set_bits", "take_away", "sums_count", "told"):
        getattr(found, name).argtypes = [pointer]
    return found
