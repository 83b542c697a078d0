"""Work beside other work: the same result however it is done, and never a wait without an end."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from galleyproof.package import beside
from galleyproof.package.beside import Beside

HERE = os.getpid()


@pytest.fixture(autouse=True)
def _in_a_copy(monkeypatch):
    monkeypatch.setattr(beside, "_safe", lambda: True)


def who() -> bytes:
    return str(os.getpid()).encode() + b" " * 3_000_000  # more than a pipe holds


def test_a_copy_does_it_and_the_whole_result_comes_back():
    with Beside(who, wanted=True) as work:
        made = work.result()
    assert len(made) > 3_000_000
    assert int(made) != HERE


def test_it_is_done_here_where_no_copy_is_wanted():
    with Beside(who, wanted=False) as work:
        assert int(work.result()) == HERE


def test_what_fails_in_the_copy_is_met_here(capfd):
    def wrong() -> bytes:
        raise ValueError("no such thing")

    with Beside(wrong, wanted=True) as work, pytest.raises(ValueError, match="no such thing"):
        work.result()
    assert capfd.readouterr() == ("", "")


def test_a_copy_that_hangs_is_ended_and_its_work_done_here(monkeypatch):
    monkeypatch.setattr(beside, "PATIENCE_S", 0.3)

    def stuck() -> bytes:
        if os.getpid() != HERE:
            time.sleep(600)
        return b"done here"

    with Beside(stuck, wanted=True) as work:
        assert work.result() == b"done here"


def test_nothing_is_left_when_the_caller_gives_up():
    def stuck() -> bytes:
        time.sleep(600)
        return b""

    before = children()
    start = time.monotonic()
    with pytest.raises(KeyError), Beside(stuck, wanted=True):
        raise KeyError
    assert time.monotonic() - start < 60
    assert children() <= before


def children() -> set[int]:
    """Processes that this one has started and not yet seen the end of; other tests may have left some."""
    found = set()
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[1]) == HERE:
            found.add(int(stat.parent.name))
    return found
