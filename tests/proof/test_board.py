"""What the compiled walk has laid out once and looks things up in is what the right wiring does."""

from __future__ import annotations

import numpy as np
import pytest
from tests.proof.test_slips_kinds import kitchen

from galleyproof.circuit.world import build_machine
from galleyproof.library.reader import load_library
from galleyproof.proof import board as board_module
from galleyproof.proof.board import Board
from galleyproof.proof.compiled import library as compiled_library
from galleyproof.proof.grid import grid
from galleyproof.proof.study import study

pytestmark = pytest.mark.skipif(compiled_library() is None, reason="the walk was not compiled here")


def laid(name: str) -> Board:
    job, design, _ = kitchen(name)
    machine = build_machine(job, design, load_library())
    return Board(machine, grid(job), range(len(machine.slot)), compiled_library())


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen"])
def test_the_lists_of_moves_hold_every_change_of_the_right_wiring(name: str):
    board = laid(name)
    a, words = board.arrays, int(board.struct.slot_words)
    change = np.dtype([("s", "f8"), ("mark", "u8"), ("slot", "i4"), ("turn", "i4"), ("value", "i4"), ("spare", "i4")])
    move = np.dtype([("mark", "u8"), ("slot", "i4"), ("at", "i4"), ("n", "i4"), ("spare", "i4")])
    changes, moves = a.changes.view(change), a.moves.view(move)
    compared = 0
    for step in range(len(board.steps)):
        events = range(a.event_at[step], a.event_at[step + 1])
        right = [(a.event_slot[e], a.event_s[e], a.event_turn[e], a.event_value[e]) for e in events]
        which = a.list_of[step]
        numbers = a.moves_in[a.list_at[which] : a.list_at[which + 1]].tolist()
        found = [
            (c["slot"], c["s"], c["turn"], c["value"])
            for m in numbers
            for c in changes[moves[m]["at"] : moves[m]["at"] + moves[m]["n"]]
        ]
        assert sorted(found) == sorted(right)
        bits = {64 * w + i for w in range(words) for i in range(64) if int(a.moving[which][w]) >> i & 1}
        slots = [int(moves[m]["slot"]) for m in numbers]
        assert slots == sorted(bits)
        assert a.slots_in[a.list_at[which] : a.list_at[which + 1]].tolist() == slots
        compared += len(found)
    assert compared == len(a.event_slot) > 1000


@pytest.mark.parametrize("name", ["ferry-cafe", "school-kitchen"])
def test_the_short_rows_are_the_rows_of_the_right_wiring(name: str):
    board = laid(name)
    a, used = board.arrays, board.next_slot
    short = a.right_value[a.right_rows[np.ix_(a.row_at, a.column_at[:used])]]
    assert (short == board.row[:, :used]).all()
    board.add_slot("a slot of its own", 3.25)
    board.add_slot("another one", "word")
    added = a.right_value[a.right_rows[np.ix_(a.row_at, a.column_at[used : used + 2])]]
    assert {tuple(board.numbers.value(n) for n in row) for row in added.tolist()} == {(3.25, "word")}


def test_a_job_without_room_on_the_board_is_tried_the_plain_way(monkeypatch: pytest.MonkeyPatch):
    job, design, slips = kitchen("ferry-cafe")
    library, slips = load_library(), slips[:3]
    usual = study(job, design, library, slips)
    monkeypatch.setattr(board_module, "MOST_CODES", 2)
    found = study(job, design, library, slips)
    assert (usual.plainly, found.plainly) == (0, 3)
    assert found.outcomes == usual.outcomes
