"""The examples in the docstrings of the sizing rules are run, so that they cannot drift from the rules."""

from __future__ import annotations

import doctest
import importlib

import pytest
from tests.sizing.test_rule_inputs import MODULES


@pytest.mark.parametrize("name", MODULES)
def test_examples_of_a_module(name: str):
    result = doctest.testmod(importlib.import_module(f"galleyproof.sizing.{name}"))
    assert result.failed == 0
    assert result.attempted >= 1
