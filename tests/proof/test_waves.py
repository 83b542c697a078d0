"""Values and ways have numbers; the tree of situations is walked parent first, everything below a step in one go."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from galleyproof.proof.board import preorder
from galleyproof.proof.compiled import KINDS, Arrays, library
from galleyproof.proof.numbers import Numbers
from galleyproof.proof.ways import RIGHT, Waves, Ways

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


def test_late_moves_and_other_ways_of_what_a_plain_machine_told():
    ways = Ways([-1, 0, 1])
    off, on = ways.code(False), ways.code(True)
    ways.set_right(3, np.array([off, off, off]), {})
    moves: dict[int, Any] = {0: (((0.0, 1), True),), 1: (((0.0, 2), False), ((5.0, 1), True))}
    way = ways.add(3, 1, np.array([on, on, on]), moves)
    assert ways.late(3, way).tolist() == [False, True, False]
    assert ways.late(3, RIGHT).tolist() == [False] * 3
    # nothing is known of where it goes as on the right wiring
    assert ways.other(3, way).tolist() == [True] * 3
    assert ways.names(3, way, np.array([0, 2])) == [moves[0], ()]


def told(*rows: tuple[int, float, int, int]) -> Any:
    """What the compiled walk tells of slot 3: step, seconds, round, number of a value."""
    found = np.zeros(len(rows), KINDS["Told"])
    for n, (step, s, turn, value) in enumerate(rows):
        found[n] = (s, step, 3, turn, value)
    return found


RIGHT_WAVES = Waves(str, told((0, 0.0, 1, 7), (2, 0.0, 1, 8), (2, 5.0, 1, 7), (4, 0.0, 2, 8)))


def test_waves_of_the_right_wiring():
    assert dict(RIGHT_WAVES) == {
        0: (((0.0, 1), "7"),),
        2: (((0.0, 1), "8"), ((5.0, 1), "7")),
        4: (((0.0, 2), "8"),),
    }
    assert len(RIGHT_WAVES) == 3
    with pytest.raises(KeyError):
        RIGHT_WAVES[1]


def test_waves_of_a_slip_are_those_of_the_right_wiring_where_nothing_is_told():
    """Below zero: it does not do there what it does on the right wiring. Steps are told in the order of the walk."""
    waves = Waves(
        str, told((4, 0.0, 0, -1), (4, 3.0, 1, 7), (2, 0.0, 0, -1), (1, 0.0, 0, -1), (1, 0.0, 4, 9)), RIGHT_WAVES
    )
    assert dict(waves) == {0: (((0.0, 1), "7"),), 1: (((0.0, 4), "9"),), 4: (((3.0, 1), "7"),)}
    assert waves.get(2, ()) == ()
    late = np.array([False, False, True, False, False])
    waves.mark_late(late)
    assert late.tolist() == [False, False, False, False, True]
    other = np.zeros(5, np.bool_)
    waves.mark_told(other)
    assert other.tolist() == [False, True, True, False, True]


def test_equal_names_are_equal_waves():
    waves = Waves(
        str, told((1, 0.0, 0, -1), (1, 0.0, 4, 9), (3, 0.0, 0, -1), (3, 0.0, 4, 9), (2, 0.0, 0, -1)), RIGHT_WAVES
    )
    places = np.arange(5)
    names = waves.names(places)
    assert names[1] == names[3]
    for one in range(5):
        for other in range(5):
            if names[one] == names[other]:
                assert waves.wave(one) == waves.wave(other)
    # where nothing is told it is called as on the right wiring
    assert [names[0], names[4]] == RIGHT_WAVES.names(np.array([0, 4]))


def test_another_way_goes_otherwise_below_a_step_it_ends_otherwise():
    """Steps 0 - 1 - 2 and 0 - 3: told of in step 1 only, after which the slot stands otherwise in 1 and 2."""
    ways = Ways([-1, 0, 1, 0])
    off, on = ways.code("off"), ways.code("on")
    ways.set_right(3, np.array([off, off, off, off]), Waves(str, told()))
    right = ways.moves(3, RIGHT)
    assert isinstance(right, Waves)
    way = ways.add(3, 5, np.array([off, on, on, off]), Waves(str, told((1, 0.0, 0, -1), (1, 0.0, 1, 4)), right))
    assert ways.other(3, way).tolist() == [False, True, True, False]
    assert ways.late(3, way).tolist() == [False] * 4
