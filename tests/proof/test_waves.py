"""Values and ways have numbers; the tree of situations is walked parent first, everything below a step in one go."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from galleyproof.proof.board import preorder
from galleyproof.proof.compiled import Arrays, library
from galleyproof.proof.numbers import Numbers
from galleyproof.proof.ways import RIGHT, Ways

needs_library = pytest.mark.skipif(library() is None, reason="the walk was not compiled here")


def numbers() -> Numbers:
    return Numbers(Arrays(), library())


@needs_library
@pytest.mark.parametrize("order", [(24.0, 24 + 0j), (24 + 0j, 24.0), (True, 1 + 0j), (1 + 0j, True)])
def test_a_phasor_is_never_a_plain_number_equal_to_it(order: tuple[Any, Any]):
    known = numbers()
    one, other = (known.of(value) for value in order)
    assert one != other
    for number, value in zip((one, other), order, strict=True):
        assert type(known.value(number)) is type(value)
        assert known.value(number) == value
        assert known.of(value) == number


@needs_library
def test_equal_values_are_one_number():
    known = numbers()
    assert known.of(24.0) == known.of(24.0) == known.of(24)
    assert known.of(True) == known.of(1.0)
    assert known.of(False) == known.of(0.0) == known.of(-0.0)
    assert known.of("on") == known.of("on")
    assert len({known.of(v) for v in (0.0, 1.0, 24.0, 24.000001, "on", "off", None, 24j, -24j)}) == 9


@needs_library
def test_what_the_walk_has_computed_is_found_again():
    """A number the walk made itself has no value in Python until it is asked for; it is the one Python would give."""
    arrays = Arrays()
    known = Numbers(arrays, library())
    plain = library().number_of(arrays.at, 0, 11.5, 0.0)
    phasor = library().number_of(arrays.at, 1, 11.5, 0.0)
    assert known.value(plain) == 11.5
    assert isinstance(known.value(plain), float)
    assert known.value(phasor) == 11.5
    assert isinstance(known.value(phasor), complex)
    assert (known.of(11.5), known.of(11.5 + 0j)) == (plain, phasor)


TREES = [
    ([-1], [0], [1]),
    ([-1, 0, 1], [0, 1, 2], [3, 3, 3]),
    # two below the first, one below the second of these, and another tree beside
    ([-1, 0, 0, 2, -1], [0, 1, 2, 3, 4], [4, 2, 4, 4, 5]),
    # steps in order of depth: their places are not their order
    ([-1, 0, 0, 1, 2, 1], [0, 1, 4, 2, 5, 3], [6, 4, 6, 3, 6, 4]),
]


@pytest.mark.parametrize(("parents", "places", "ends"), TREES)
def test_places_of_a_tree(parents: list[int], places: list[int], ends: list[int]):
    """Worked out by hand: parent before child, all below a step between its place and its end."""
    assert preorder(parents) == (places, ends)


def test_equal_ways_of_a_slot_are_one_and_the_right_one_is_way_0():
    ways = Ways([-1, 0, 0, 1])
    assert ways.place_of == [0, 1, 3, 2]
    off, on = ways.code(False), ways.code(True)
    assert ways.code(True) == on != off
    ways.set_right(7, np.array([off, off, off, off]), {})
    column = np.array([off, on, on, off])
    moves = {1: (((0.0, 1), True),)}
    assert ways.known(7, b"mark") is None
    way = ways.add(7, b"mark", column, moves)
    assert way != RIGHT
    assert ways.known(7, b"mark") == way
    assert ways.known(8, b"mark") is None
    # steps 1 and 3 stand at places 1 and 2
    assert ways.after(7, way) == [False, True, False, True]
    assert ways.after(7, RIGHT) == [False] * 4
    assert ways.moves(7, way) == moves


def test_moves_are_put_together_once_and_late_ones_found():
    ways = Ways([-1, 0])
    asked = []

    def moves() -> dict[int, Any]:
        asked.append(1)
        return {0: (((0.0, 1), True),), 1: (((0.0, 2), False), ((5.0, 1), True))}

    way = ways.add(3, 1, np.array([ways.code(True)] * 2), moves)
    assert ways.late(3, way) == {1}
    assert set(ways.moves(3, way)) == {0, 1}
    assert len(asked) == 1
