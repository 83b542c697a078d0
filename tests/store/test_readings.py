"""The log of readings in the store: it only grows, an entry sent twice is one, a changed one is refused."""

import threading

import pytest
from tests.store.support import ANN, BO, add, entry, save

from galleyproof.store.errors import NotFoundError, RefusedError, UnavailableError
from galleyproof.store.readings import add_readings, readings_mark, readings_of


def test_entries_sent_twice_are_stored_once(db):
    one, two = entry(sequence=1), entry(sequence=2)
    with db.session() as s:
        job = add(s)
        before = readings_mark(s, job)
        assert add_readings(s, ANN, job, [one, two]) == 2
    with db.session() as s:
        assert readings_mark(s, job) != before
        assert add_readings(s, BO, job, [two, one, entry(sequence=3)]) == 1
        assert len(readings_of(s, job)) == 3
        assert readings_of(s, job)[:2] == (one, two)


def test_an_entry_that_was_edited_is_refused_and_nothing_of_the_log_is_stored(db):
    one = entry()
    with db.session() as s:
        job = add(s)
        add_readings(s, ANN, job, [one])
    edited = one.model_copy(update={"read": "120 V"})
    refused = pytest.raises(RefusedError, match=r"stands for another reading already.*nothing of it was stored")
    with refused, db.session() as s:
        add_readings(s, ANN, job, [entry(), edited])
    with pytest.raises(RefusedError, match="given twice with different content"), db.session() as s:
        add_readings(s, ANN, job, [(new := entry()), new.model_copy(update={"read": "5 V"})])
    with db.session() as s:
        assert readings_of(s, job) == (one,)


def test_readings_of_another_job_are_refused(db):
    with db.session() as s:
        job, other = add(s, "one"), add(s, "another")
        with pytest.raises(RefusedError, match="belong to 'Saltmarrow trial' in a text that was never saved"):
            add_readings(s, ANN, other, [entry("one")])
        # an older text of the job is the same job
        save(s, job, "two", 1)
        assert add_readings(s, ANN, job, [entry("one"), entry("two")]) == 2
        taken = readings_of(s, job)[0]
        with pytest.raises(RefusedError):
            add_readings(s, ANN, other, [taken.model_copy(update={"job": entry("another").job})])
        with pytest.raises(NotFoundError):
            add_readings(s, ANN, 99, [])


def test_a_text_with_other_ends_of_lines_is_the_same_text(db):
    with db.session() as s:
        job = add(s, "one\r\ntwo\r\n")
        assert add_readings(s, ANN, job, [entry("one\ntwo\n")]) == 1


def test_the_longest_entry_fits(db):
    long = entry(probe="p" * 300, read="r" * 1000, job_name="n" * 120, by="b" * 120)
    with db.session() as s:
        job = add(s)
        add_readings(s, ANN, job, [long])
        assert readings_of(s, job) == (long,)


def test_two_tablets_at_the_same_moment_lose_nothing(db):
    shared = [entry(sequence=n) for n in range(30)]
    own = {d: [entry(device=d * 32, sequence=n) for n in range(30)] for d in "ab"}
    with db.session() as s:
        job = add(s)
    gate, failed = threading.Barrier(2), []

    def send(device):
        gate.wait()
        for mine, both in zip(own[device], shared, strict=True):
            try:
                with db.session() as s:
                    add_readings(s, ANN, job, [mine, both])
            except UnavailableError as error:
                failed.append(str(error))

    threads = [threading.Thread(target=send, args=(d,)) for d in "ab"]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert failed == []
    with db.session() as s:
        assert {e.id for e in readings_of(s, job)} == {e.id for e in (*shared, *own["a"], *own["b"])}
