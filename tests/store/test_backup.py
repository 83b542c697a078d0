"""Backup and restore: from and into either database, whole or not at all."""

import json
import re
import threading
import zipfile
from datetime import UTC, datetime

import pytest
from sqlalchemy import text
from tests.store.support import ANN, BO, add, entry, package, save
from tests.store.test_upgrade import at, fill, rows, tables_of

from galleyproof.store.backup import check_backup, restore_backup, write_backup
from galleyproof.store.database import Database
from galleyproof.store.errors import RefusedError, UnavailableError
from galleyproof.store.issued import add_issued, content_of, faults_of, issued_sets
from galleyproof.store.jobs import find_jobs, save_of, saves_of
from galleyproof.store.readings import add_readings, readings_of
from galleyproof.store.schema import PersonRow, SettingRow
from galleyproof.store.upgrade import bring_up_to_date, history, revision_of


@pytest.fixture(params=["sqlite", "postgresql"])
def other(request, tmp_path):
    """Another database, empty and without tables."""
    if request.param == "sqlite":
        url = f"sqlite:///{tmp_path / 'other.db'}"
    else:
        url = request.getfixturevalue("postgres").new_url()
    made = Database(url)
    yield made
    made.close()


def store_some(db):
    """A little of everything, with signs that are easily lost on the way."""
    with db.session() as s:
        job = add(s, 'Küche "Ω"\n\ttab, \\ and   line')
        save(s, job, "two", 1)
        save(s, job, "three", 2, who=BO)
        add_readings(s, ANN, job, [entry("two", sequence=n, read="½ Ω") for n in range(120)])
        add_issued(s, ANN, job, 3, "A", package(body=bytes(range(256)) * 500))
        made = datetime(2026, 11, 25, 23, 59, 59, 999999, tzinfo=UTC)
        s.add(PersonRow(name="Ann Reed", password="hash", role="engineer", active=False, made_at=made))
        s.add(SettingRow(name="signing key", value="k" * 64))
    return job


def everything(db):
    with db.engine.connect() as c:
        return rows(c, tables_of(c))


def test_what_was_stored_comes_back_on_either_database(db, other, tmp_path):
    job = store_some(db)
    file = tmp_path / "office.backup"
    made = write_backup(db, file)
    assert (made.rows["save"], made.rows["reading"], made.rows["issued"]) == (3, 120, 1)
    assert file.stat().st_mode & 0o777 == 0o600
    restore_backup(other, file)
    assert everything(other) == everything(db)
    with db.session() as a, other.session() as b:
        assert saves_of(b, job) == saves_of(a, job)
        assert readings_of(b, job) == readings_of(a, job)
        (one,) = issued_sets(b, job)
        assert faults_of(b, job, one.id) == ()
        assert content_of(b, job, one.id) == content_of(a, job, one.id)
    # it works on: new rows take new numbers, the guards stand, the next start finds nothing to do
    assert bring_up_to_date(other).before == history()[-1]
    with other.session() as s:
        assert add(s, "next") == job + 1
        save(s, job, "four", 3)
    with pytest.raises(UnavailableError, match="stay as they were written"), other.session() as s:
        s.execute(text("DELETE FROM save"))


def test_a_backup_of_an_earlier_schema_is_brought_forward(any_url, other, tmp_path):
    old = Database(any_url)
    at(old, "0001")
    with old.engine.begin() as c:
        fill(c)
    write_backup(old, tmp_path / "old.backup")
    with old.engine.connect() as c:
        assert revision_of(c) == "0001"  # a backup changes nothing
    restore_backup(other, tmp_path / "old.backup")
    with other.engine.connect() as c:
        assert revision_of(c) == history()[-1]
    before, after = everything(old), everything(other)
    assert {t: len(r) for t, r in before.items()} == {t: len(after[t]) for t in before}
    assert after["save"] == before["save"]
    old.close()


def test_only_into_an_empty_store_or_in_its_place(db, tmp_path):
    store_some(db)
    write_backup(db, tmp_path / "a.backup")
    with db.session() as s:
        later = add(s, "later")
    with pytest.raises(RefusedError, match=r"holds 2 jobs and 4 saves.*--replace"):
        restore_backup(db, tmp_path / "a.backup")
    with db.session() as s:
        assert len(find_jobs(s)) == 2
    restore_backup(db, tmp_path / "a.backup", replace=True)
    with db.session() as s:
        assert [h.id for h in find_jobs(s)] == [later - 1]


def test_a_backup_while_others_write_is_of_one_moment(db, tmp_path):
    with db.session() as s:
        job = add(s)
    stop, wrote, failed = threading.Event(), [1], []

    def edit():
        try:
            while not stop.is_set():
                with db.session() as s:
                    # a save and its reading belong together: a backup has both or neither
                    number = save(s, job, f"text {wrote[-1] + 1}", wrote[-1])
                    add_readings(s, ANN, job, [entry(f"text {number}", sequence=number)])
                wrote.append(number)
        except Exception as error:  # noqa: BLE001  looked at below
            failed.append(error)

    writer = threading.Thread(target=edit)
    writer.start()
    try:
        made = []
        for n in range(4):
            before = wrote[-1]
            made.append((before, write_backup(db, tmp_path / f"{n}.backup")))
    finally:
        stop.set()
        writer.join()
    assert failed == []
    assert wrote[-1] > 4
    for before, one in made:
        assert one.rows["save"] >= before
        assert one.rows["reading"] == one.rows["save"] - 1
    restore_backup(db, tmp_path / "3.backup", replace=True)
    with db.session() as s:
        assert save_of(s, job).number == made[3][1].rows["save"]


def rewrite(source, target, change):
    """A copy of a backup with its members changed: name -> content."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        members = {n: old.read(n) for n in old.namelist()}
        change(members)
        for name, content in members.items():
            new.writestr(name, content)


def with_manifest(edit):
    def change(members):
        manifest = json.loads(members["manifest.json"])
        edit(manifest)
        members["manifest.json"] = json.dumps(manifest).encode()

    return change


def set_in(name, content):
    return lambda members: members.__setitem__(name, content)


DAMAGE = {
    "a row was changed": (
        lambda m: m.__setitem__("tables/save.jsonl", m["tables/save.jsonl"].replace(b"three", b"thrEe")),
        "table save is not as it was written",
    ),
    "a row is missing": (
        lambda m: m.__setitem__("tables/save.jsonl", m["tables/save.jsonl"].split(b"\n", 1)[1]),
        "table save is not as it was written",
    ),
    "a table is missing": (lambda m: m.pop("tables/log.jsonl"), "not those of its manifest"),
    "a table is too many": (set_in("tables/more.jsonl", b""), "not those of its manifest"),
    "a longer table than said": (
        lambda m: m.__setitem__("tables/save.jsonl", m["tables/save.jsonl"] + b" " * 20_000_000),
        "table save is not as it was written",
    ),
    "no manifest": (lambda m: m.pop("manifest.json"), "has no manifest"),
    "a manifest of nothing": (set_in("manifest.json", b"[]"), "manifest cannot be read"),
    "another program's": (set_in("manifest.json", b'{"made_by": "x"}'), "manifest cannot be read"),
    "a newer schema": (with_manifest(lambda m: m.update(schema="9999")), "newer version .*schema 9999"),
    "a newer form": (with_manifest(lambda m: m.update(galleyproof_backup=2)), "newer version"),
    "a strange table": (
        lambda m: (
            with_manifest(lambda x: x["tables"].append({"name": "x; --", "rows": 0, "bytes": 0, "sha256": ""}))(m),
            m.update({"tables/x; --.jsonl": b""}),
        ),
        "no table 'x; --'",
    ),
}


@pytest.fixture
def filled(tmp_path):
    """A file with a backup, and a database that must stay as it is."""
    db = Database(f"sqlite:///{tmp_path / 'filled.db'}")
    bring_up_to_date(db)
    store_some(db)
    write_backup(db, tmp_path / "good.backup")
    yield db
    db.close()


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_backup_is_refused_before_anything_is_touched(filled, tmp_path, damage):
    change, said = DAMAGE[damage]
    rewrite(tmp_path / "good.backup", tmp_path / "bad.backup", change)
    before = everything(filled)
    with pytest.raises(RefusedError, match=said):
        check_backup(tmp_path / "bad.backup")
    with pytest.raises(RefusedError, match=said):
        restore_backup(filled, tmp_path / "bad.backup", replace=True)
    assert everything(filled) == before


def test_a_backup_cut_off_anywhere_is_refused(filled, tmp_path):
    whole = (tmp_path / "good.backup").read_bytes()
    for share in (0, 0.1, 0.5, 0.9, 0.999):
        (tmp_path / "cut.backup").write_bytes(whole[: int(len(whole) * share)])
        with pytest.raises(RefusedError, match="no whole backup"):
            check_backup(tmp_path / "cut.backup")
    with pytest.raises(RefusedError, match="no such file"):
        check_backup(tmp_path / "none.backup")


def test_a_backup_with_a_wrong_bit_is_refused_or_whole(filled, tmp_path):
    whole = (tmp_path / "good.backup").read_bytes()
    good, refused = check_backup(tmp_path / "good.backup"), 0
    anywhere = [(len(whole) * n // 200, 1 << n % 8) for n in range(200)]
    # the bit of the zip's directory that says a file is encrypted
    encrypted = [(found.start() + 8, 1) for found in re.finditer(rb"PK\x01\x02", whole)]
    for place, bit in anywhere + encrypted:
        flipped = bytearray(whole)
        flipped[place] ^= bit
        (tmp_path / "flipped.backup").write_bytes(flipped)
        try:
            # some bits mean nothing: the time of a file in the zip, for example
            assert check_backup(tmp_path / "flipped.backup") == good, f"byte {place}"
        except RefusedError:
            refused += 1
    assert refused > 100


def test_a_row_that_does_not_fit_leaves_everything_as_it_was(db, tmp_path):
    """Whole and hashed, but its rows contradict each other: found while it is written, and nothing of it stays."""
    store_some(db)
    write_backup(db, tmp_path / "good.backup")
    from hashlib import sha256

    def orphan(members):
        lines = members["tables/save.jsonl"].decode().splitlines()
        row = json.loads(lines[0])
        row.update(id=900, job_id=77)
        content = ("\n".join([*lines, json.dumps(row)]) + "\n").encode()
        members["tables/save.jsonl"] = content
        manifest = json.loads(members["manifest.json"])
        for t in manifest["tables"]:
            if t["name"] == "save":
                t.update(rows=len(lines) + 1, bytes=len(content), sha256=sha256(content).hexdigest())
        members["manifest.json"] = json.dumps(manifest).encode()

    rewrite(tmp_path / "good.backup", tmp_path / "bad.backup", orphan)
    check_backup(tmp_path / "bad.backup")
    before = everything(db)
    with pytest.raises((RefusedError, UnavailableError)):
        restore_backup(db, tmp_path / "bad.backup", replace=True)
    assert everything(db) == before


def test_no_earlier_backup_is_written_over_and_no_half_one_stays(filled, tmp_path):
    good = (tmp_path / "good.backup").read_bytes()
    with pytest.raises(RefusedError, match="exists already"):
        write_backup(filled, tmp_path / "good.backup")
    assert (tmp_path / "good.backup").read_bytes() == good
    with pytest.raises(RefusedError, match="cannot be written"):
        write_backup(filled, tmp_path / "no such folder" / "x.backup")
    empty = Database(f"sqlite:///{tmp_path / 'empty.db'}")
    with pytest.raises(RefusedError, match="nothing to back up"):
        write_backup(empty, tmp_path / "empty.backup")
    empty.close()
    assert {p.name for p in tmp_path.iterdir() if "backup" in p.name} == {"good.backup"}
