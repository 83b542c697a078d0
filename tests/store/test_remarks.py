"""Remarks in the store, on both databases."""

from __future__ import annotations

import pytest
from tests.store.support import ANN, BO, add, save

from galleyproof.store.backup import restore_backup, write_backup
from galleyproof.store.errors import NotFoundError
from galleyproof.store.remarks import add_remark, remarks_on
from galleyproof.store.upgrade import bring_up_to_date


def test_remarks_are_found_by_save_in_their_order(db):
    with db.session() as s:
        job, other = add(s, "one"), add(s, "elsewhere")
        save(s, job, "two", 1)
        add_remark(s, ANN, job, 1, " first \n\n  indented ")
        add_remark(s, BO, job, 2, "on the second")
        add_remark(s, BO, job, 1, "again")
        add_remark(s, BO, other, 1, "of another job")
        with pytest.raises(NotFoundError):
            add_remark(s, ANN, job, 3, "on nothing")
    with db.session(reads=True) as s:
        found = remarks_on(s, job, [1, 2, 7])
        assert {n: [(r.made_by, r.text) for r in own] for n, own in found.items()} == {
            1: [(ANN.name, "first\n\n  indented"), (BO.name, "again")],
            2: [(BO.name, "on the second")],
        }
        assert remarks_on(s, job, []) == {}
        assert found[1][0].made_at.tzinfo is not None


def test_a_backup_brings_remarks_back(db, tmp_path):
    from galleyproof.store.database import Database

    bring_up_to_date(db)
    with db.session() as s:
        job = add(s, "one")
        kept = add_remark(s, ANN, job, 1, "Maß ½ Ω \N{LEFT-TO-RIGHT MARK}")
    write_backup(db, tmp_path / "all.backup")
    other = Database(f"sqlite:///{tmp_path / 'other.db'}")
    restore_backup(other, tmp_path / "all.backup")
    with other.session(reads=True) as s:
        assert remarks_on(s, job, [1]) == {1: (kept,)}
    other.close()
