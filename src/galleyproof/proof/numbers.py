"""Numbers of values: equal values have one number, by which the compiled walk knows them."""

from __future__ import annotations

import math
from typing import Any

from galleyproof.circuit.rules import After
from galleyproof.proof.compiled import AC, PLAIN, WORD, Arrays

MOST_VALUES = 1 << 19
MOST_DELAYS = 10_000


class Numbers:
    """Values with their numbers.

    Args:
        arrays: The walk's.
        library: The walk.
    """

    def __init__(self, arrays: Arrays, library: Any) -> None:
        self._arrays, self._library = arrays, library
        struct = arrays.struct
        struct.value_most, struct.value_size = MOST_VALUES, 2 * MOST_VALUES
        for name in ("re", "im", "form"):
            arrays.lay(name, MOST_VALUES)
        arrays.lay("value_at", struct.value_size, -1)
        arrays.lay("after_s", MOST_DELAYS)
        arrays.lay("after_v", MOST_DELAYS)
        self._number: dict[tuple[int, Any], int] = {}
        self._value: dict[int, Any] = {}
        self._delay: dict[tuple[float, int], int] = {}

    def of(self, value: Any) -> int:
        """Number of a value. True is 1 and 1.0; a phasor is never a plain number."""
        form = AC if isinstance(value, complex) else PLAIN
        known = self._number.get((form, value))
        if known is not None:
            return known
        if form == AC:
            number = int(self._library.number_of(self._arrays.at, AC, value.real, value.imag))
        elif isinstance(value, (bool, int, float)):
            number = int(self._library.number_of(self._arrays.at, PLAIN, float(value), 0.0))
        else:
            number = self._word()
        self._number[form, value] = number
        self._value.setdefault(number, value)
        return number

    def _word(self) -> int:
        struct = self._arrays.struct
        number = int(struct.n_values)
        if number >= MOST_VALUES:
            raise OverflowError("more values than there is room for")
        self._arrays.form[number] = WORD
        self._arrays.re[number] = math.nan
        struct.n_values = number + 1
        return number

    def value(self, number: int) -> Any:
        """Value with a number."""
        try:
            return self._value[number]
        except KeyError:
            re, im = float(self._arrays.re[number]), float(self._arrays.im[number])
            found = self._value[number] = complex(re, im) if self._arrays.form[number] == AC else re
            return found

    def answer(self, value: Any) -> int:
        """Number of what a rule answers; what comes later has one below zero."""
        if not isinstance(value, After):
            return self.of(value)
        name = (value.seconds, self.of(value.value))
        place = self._delay.get(name)
        if place is None:
            place = self._delay[name] = len(self._delay)
            if place >= MOST_DELAYS:
                raise OverflowError("more delays than there is room for")
            self._arrays.after_s[place], self._arrays.after_v[place] = name
        return -1 - place
