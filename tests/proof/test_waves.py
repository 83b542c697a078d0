"""Waves are shared, but never between an AC phasor and a DC voltage that happens to be equal to it."""

from __future__ import annotations

from typing import Any

import pytest

from galleyproof.proof.waves import Courses

AT = (0.0, 1)


@pytest.mark.parametrize("order", [(24.0, 24 + 0j), (24 + 0j, 24.0), (True, 1.0), (1 + 0j, True)])
def test_equal_values_of_another_form_are_another_wave(order: tuple[Any, Any]) -> None:
    courses = Courses()
    numbers = [courses.wave(((AT, value),)) for value in order]
    assert numbers[0] != numbers[1]
    for number, value in zip(numbers, order, strict=True):
        assert type(courses.waves[number][-1][1]) is type(value)
        assert courses.wave(((AT, value),)) == number


def test_equal_waves_are_one() -> None:
    courses = Courses()
    assert courses.wave(((AT, 24.0),)) == courses.wave(((AT, 24.0),))
    assert courses.wave(()) == 0
