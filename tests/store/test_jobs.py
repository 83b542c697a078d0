"""Saves: never over somebody else's, in order whatever the clock says, taken back and done again."""

import threading
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.store.support import ANN, BO, add, save, titles

from galleyproof.store import jobs
from galleyproof.store.errors import ConflictError, NotFoundError, RefusedError
from galleyproof.store.jobs import archive_job, copy_job, find_jobs, job_head, save_of, saves_of
from galleyproof.store.undo import do_again, restore, take_back, walk, walk_of


def text_of(session, job):
    return save_of(session, job).text


def test_two_editors_at_once_the_second_is_told_what_the_first_wrote(db):
    with db.session() as s:
        job = add(s)
    with db.session() as s:
        assert save(s, job, "two", 1) == 2
    with pytest.raises(ConflictError) as told, db.session() as s:
        save(s, job, "other two", 1, who=BO)
    assert (told.value.theirs, told.value.number, told.value.by) == ("two", 2, "Ann Reed")
    with db.session() as s:
        assert [x.text for x in saves_of(s, job)] == ["two", "one"]


def test_of_many_editors_at_the_same_moment_one_wins_and_nothing_is_lost(db):
    with db.session() as s:
        job = add(s)
    won, lost = [], []
    gate = threading.Barrier(8)

    def edit(n):
        gate.wait()
        base = 1
        while True:
            try:
                with db.session() as s:
                    won.append((save(s, job, f"text {n}", base), f"text {n}"))
                return
            except ConflictError as error:
                lost.append(n)
                base = error.number

    threads = [threading.Thread(target=edit, args=(n,)) for n in range(8)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert lost
    assert sorted(n for n, _ in won) == list(range(2, 10))
    with db.session() as s:
        assert {(x.number, x.text) for x in saves_of(s, job)} == {*won, (1, "one")}


def test_a_clock_moved_back_changes_no_order(db, monkeypatch):
    with db.session() as s:
        job = add(s)
    monkeypatch.setattr(jobs, "now", lambda: datetime.now(UTC) - timedelta(days=400))
    with db.session() as s:
        save(s, job, "two", 1)
    with db.session() as s:
        assert save_of(s, job).text == "two"
        later, earlier = saves_of(s, job)
        assert (later.number, earlier.number) == (2, 1)
        assert later.made_at < earlier.made_at
        assert take_back(s, ANN, job, titles) == 3
        assert text_of(s, job) == "one"


def test_undo_walks_back_and_redo_walks_forth(db):
    with db.session() as s:
        job = add(s)
        for n, text in enumerate(("two", "three"), 1):
            save(s, job, text, n)
        for expected in ("two", "one"):
            take_back(s, ANN, job, titles)
            assert text_of(s, job) == expected
        assert job_head(s, job).name == "one"
        with pytest.raises(RefusedError, match="nothing to take back"):
            take_back(s, ANN, job, titles)
        do_again(s, ANN, job, titles)
        assert text_of(s, job) == "two"
        take_back(s, ANN, job, titles)
        for expected in ("two", "three"):
            do_again(s, ANN, job, titles)
            assert text_of(s, job) == expected
        with pytest.raises(RefusedError, match="nothing to do again"):
            do_again(s, ANN, job, titles)
        # a change after a taking back ends the way forth
        take_back(s, ANN, job, titles)
        save(s, job, "four", job_head(s, job).head)
        with pytest.raises(RefusedError, match="since the last change"):
            do_again(s, ANN, job, titles)
        take_back(s, ANN, job, titles)
        assert text_of(s, job) == "two"
        assert saves_of(s, job)[0].said == "took back: wrote four"


def test_undo_over_somebody_elses_save_is_a_conflict(db):
    with db.session() as s:
        job = add(s)
        save(s, job, "two", 1)
    with db.session() as s:
        save(s, job, "three", 2, who=BO)
    with pytest.raises(ConflictError, match=r"Bo Hart saved first \(save 3\)"), db.session() as s:
        take_back(s, ANN, job, titles, based_on=2)


@settings(max_examples=60)
@given(st.lists(st.sampled_from(["edit", "undo", "redo"]), max_size=25))
def test_undo_and_redo_are_those_of_a_plain_editor(steps):
    # the model is what every text editor does: a list of texts, and a place in it
    texts, place = ["1"], 0
    saves, content = [(1, None)], {1: "1"}
    for step in steps:
        here = walk(saves)
        number = len(saves) + 1
        if step == "edit":
            texts, place = [*texts[: place + 1], str(number)], place + 1
            saves, content[number] = [*saves, (number, None)], str(number)
        elif step == "undo":
            assert (here.back is None) == (place == 0)
            if here.back:
                place -= 1
                saves, content[number] = [*saves, (number, here.back[0])], content[here.back[1]]
        else:
            assert (here.again is None) == (place == len(texts) - 1)
            if here.again:
                place += 1
                saves, content[number] = [*saves, (number, here.again[0])], content[here.again[1]]
        assert content[len(saves)] == texts[place]


def test_an_older_save_stands_again_as_a_new_one(db):
    with db.session() as s:
        job = add(s)
        save(s, job, "two", 1)
        save(s, job, "three", 2)
        assert restore(s, BO, job, 1, titles, 3) == 4
        assert text_of(s, job) == "one"
        assert saves_of(s, job)[0].said == "restored save 1"
        assert walk_of(s, job).back == (4, 3)
        with pytest.raises(RefusedError, match="stands already"):
            restore(s, BO, job, 1, titles, 4)
        with pytest.raises(NotFoundError, match="no save 9"):
            restore(s, BO, job, 9, titles, 4)
        with pytest.raises(ConflictError):
            restore(s, BO, job, 2, titles, 3)


def test_archive_and_copy(db):
    with db.session() as s:
        job = add(s, "old kitchen")
        copy = copy_job(s, BO, job)
        archive_job(s, ANN, job)
    with db.session() as s:
        assert copy.id != job
        assert text_of(s, copy.id) == "old kitchen"
        assert saves_of(s, copy.id)[0].said == f"copied from job {job}, save 1"
        assert [h.id for h in find_jobs(s)] == [copy.id]
        assert [h.id for h in find_jobs(s, archived=True)] == [job]
        archive_job(s, ANN, job, False)
        assert len(find_jobs(s)) == 2
        with pytest.raises(NotFoundError):
            copy_job(s, ANN, 99)
