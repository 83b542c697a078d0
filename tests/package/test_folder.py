"""The folder of a package: whole or not at all, and what may be replaced."""

from __future__ import annotations

import json
import os

import pytest

from galleyproof.errors import InputError
from galleyproof.package import folder
from galleyproof.package.folder import put_package
from galleyproof.package.whole import NAMES

FILES = {name: name.encode() for name in (*NAMES, "sheets/1.1.svg", "sheets/10.12.svg")}
FILES["manifest.json"] = json.dumps({"status": "DRAFT", "files": []}).encode()


def there(path):
    return {p.relative_to(path).as_posix(): p.read_bytes() for p in path.rglob("*") if p.is_file()}


def test_a_new_folder_is_made_with_its_parents(tmp_path):
    put_package(tmp_path / "a" / "b", FILES)
    assert there(tmp_path / "a" / "b") == FILES


def test_an_earlier_draft_is_replaced_whole(tmp_path):
    target = tmp_path / "out"
    put_package(target, FILES)
    put_package(target, {**FILES, "job.yaml": b"other"})
    assert there(target) == {**FILES, "job.yaml": b"other"}
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_half_full_folder_is_made_whole(tmp_path):
    target = tmp_path / "out"
    target.mkdir()
    (target / "package.pdf").write_bytes(b"half")
    put_package(target, FILES)
    assert there(target) == FILES


def test_a_folder_with_other_things_is_left_alone(tmp_path):
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(InputError, match=r"letter\.txt.*empty folder or a new one"):
        put_package(tmp_path, FILES)
    assert there(tmp_path) == {"letter.txt": b"mine"}


@pytest.mark.parametrize("name", ["sheets/plan.svg", "sheets/1.1.svg.bak", "sheets/more/1.1.svg", "sheets/01.1.svg"])
def test_what_others_keep_among_the_sheets_is_left_alone(tmp_path, name):
    (tmp_path / name).parent.mkdir(parents=True)
    (tmp_path / name).write_text("mine")
    with pytest.raises(InputError, match=r"sheets.*empty folder or a new one"):
        put_package(tmp_path, FILES)
    assert there(tmp_path) == {name: b"mine"}


def test_sheets_of_an_earlier_draft_go_with_it(tmp_path):
    put_package(tmp_path / "out", FILES)
    fewer = {n: c for n, c in FILES.items() if n != "sheets/10.12.svg"}
    put_package(tmp_path / "out", fewer)
    assert there(tmp_path / "out") == fewer


def test_a_job_file_alone_is_somebodys_work(tmp_path):
    (tmp_path / "job.yaml").write_text("mine")
    with pytest.raises(InputError, match=r"job\.yaml.*empty folder or a new one"):
        put_package(tmp_path, FILES)
    assert there(tmp_path) == {"job.yaml": b"mine"}


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "out").write_text("mine")
    with pytest.raises(InputError, match="is no folder"):
        put_package(tmp_path / "out", FILES)
    assert (tmp_path / "out").read_text() == "mine"


def test_an_issued_set_never_changes(tmp_path):
    issued = {**FILES, "manifest.json": json.dumps({"status": "ISSUED", "files": []}).encode()}
    put_package(tmp_path / "out", issued)
    put_package(tmp_path / "out", issued)
    with pytest.raises(InputError, match="issued set, which never changes"):
        put_package(tmp_path / "out", {**issued, "job.yaml": b"other"})
    with pytest.raises(InputError, match="issued set, which never changes"):
        put_package(tmp_path / "out", {n: c for n, c in issued.items() if n != "sheets/1.1.svg"})
    assert there(tmp_path / "out") == issued


@pytest.mark.parametrize("before", [None, {"package.pdf": b"old"}])
def test_a_full_disk_leaves_nothing_half_written(tmp_path, monkeypatch, before):
    target = tmp_path / "deep" / "out"
    if before is not None:
        target.mkdir(parents=True)
        (target / "package.pdf").write_bytes(b"old")
    count = 0

    def full(_handle):
        nonlocal count
        count += 1
        if count == 4:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(folder.os, "fsync", full)
    with pytest.raises(InputError, match="no space left on device"):
        put_package(target, FILES)
    if before is None:
        assert list(tmp_path.iterdir()) == []
    else:
        assert there(target) == before
        assert list(target.parent.iterdir()) == [target]


def test_when_the_last_move_fails_the_old_folder_comes_back(tmp_path, monkeypatch):
    target = tmp_path / "out"
    put_package(target, FILES)
    real = folder.Path.rename

    def broken(self, to):
        if self.name.endswith(".part"):
            raise OSError(5, "Input/output error")
        return real(self, to)

    monkeypatch.setattr(folder.Path, "rename", broken)
    with pytest.raises(InputError, match="input/output error"):
        put_package(target, {**FILES, "job.yaml": b"other"})
    assert there(target) == FILES
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is forbidden to root")
def test_a_folder_that_may_not_be_written(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(InputError, match="cannot be written"):
        put_package(tmp_path / "out", FILES)
    tmp_path.chmod(0o700)


def test_a_parent_that_is_a_file(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError, match="cannot be written"):
        put_package(tmp_path / "file" / "out", FILES)


def test_a_name_that_is_too_long(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        put_package(tmp_path / ("x" * 300), FILES)
    assert list(tmp_path.iterdir()) == []
