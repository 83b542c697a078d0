"""``galleyproof accounts`` as a real process: the first account, and the ways it refuses."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from galleyproof.cli import accounts as command
from galleyproof.cli.main import main
from galleyproof.store import accounts
from galleyproof.store.accounts import find_person, fits
from galleyproof.store.database import Database
from galleyproof.store.people import Role

GOOD = "a lamp beside the stove"


def run(folder: Path, *words: str, given: str = "") -> subprocess.CompletedProcess[str]:
    env = {k: v for k, v in os.environ.items() if not k.startswith("GALLEYPROOF_")}
    call = [sys.executable, "-m", "galleyproof", "accounts", *words, "--data", str(folder)]
    done = subprocess.run(call, input=given, capture_output=True, text=True, timeout=30, env=env)
    assert "Traceback" not in done.stderr + done.stdout
    return done


def person(folder: Path, name: str):
    db = Database(f"sqlite:///{folder / 'jobs.db'}")
    try:
        with db.session() as session:
            return find_person(session, name)
    finally:
        db.close()


def test_the_first_account_is_made_on_an_empty_computer(tmp_path):
    done = run(tmp_path / "new", "add", "Ada Quill", "--role", "administrator", "--password-file", "-", given=GOOD)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == "Ada Quill may sign in as administrator\n"
    found, kept = person(tmp_path / "new", "ada quill")
    assert (found.name, found.role, found.active) == ("Ada Quill", Role.ADMINISTRATOR, True)
    assert fits(GOOD, kept)


def test_the_password_is_asked_for_without_showing_it(tmp_path):
    """On a terminal: twice, and nothing of it is echoed."""
    ours, theirs = pty.openpty()
    call = [sys.executable, "-m", "galleyproof", "accounts", "add", "Ada", "--role", "administrator"]
    env = {k: v for k, v in os.environ.items() if not k.startswith("GALLEYPROOF_")}
    process = subprocess.Popen(
        [*call, "--data", str(tmp_path)], stdin=theirs, stdout=theirs, stderr=theirs, env=env, start_new_session=True
    )
    os.close(theirs)
    seen = b""
    for prompt in (b"password: ", b"password again: "):
        while prompt not in seen:
            seen += os.read(ours, 1000)
        os.write(ours, GOOD.encode() + b"\n")
    while True:
        try:
            more = os.read(ours, 1000)
        except OSError:  # the other end is closed
            break
        if not more:
            break
        seen += more
    assert process.wait(30) == 0
    os.close(ours)
    assert b"Ada may sign in as administrator" in seen
    assert GOOD.encode() not in seen
    assert fits(GOOD, person(tmp_path, "Ada")[1])


@pytest.fixture
def here(tmp_path, monkeypatch, capsys):
    """The command in this process, over an office with one administrator."""
    monkeypatch.delenv("GALLEYPROOF_DATABASE_URL", raising=False)
    monkeypatch.setattr(accounts, "HASHER", type(accounts.HASHER)(time_cost=1, memory_cost=8, parallelism=1))

    def call(*words: str, password: str | None = None) -> tuple[int, str, str]:
        if password is not None:
            (tmp_path / "password").write_text(password)
            words = (*words, "--password-file", str(tmp_path / "password"))
        status = main(["accounts", *words, "--data", str(tmp_path / "data")])
        said = capsys.readouterr()
        return status, said.out, said.err

    assert call("add", "Ada Quill", "--role", "administrator", password=GOOD)[0] == 0
    return call


def test_accounts_are_listed_and_changed(here, tmp_path):
    assert here("add", "Ona Brandt", "--role", "engineer", password="words by the pier\n")[0] == 0
    assert here("role", "ona brandt", "--role", "reviewer") == (0, "Ona Brandt is reviewer now\n", "")
    assert here("password", "Ona Brandt", password="\ufeffother words here\r\n")[0] == 0
    assert here("off", "Ona Brandt")[0] == 0
    status, said, _ = here("list", "--json")
    assert status == 0
    rows = json.loads(said)["accounts"]
    assert [(r["name"], r["role"], r["active"]) for r in rows] == [
        ("Ada Quill", "administrator", True),
        ("Ona Brandt", "reviewer", False),
    ]
    assert "switched off" in here("list")[1]
    assert here("on", "Ona Brandt")[0] == 0
    found, kept = person(tmp_path / "data", "Ona Brandt")
    assert found.active
    assert fits("other words here", kept)


@pytest.mark.parametrize(
    ("words", "password", "said"),
    [
        (("add",), None, "accounts add needs the name"),
        (("add", "Ona"), GOOD, "accounts add needs --role"),
        (("off", "Ona", "--role", "engineer"), None, "accounts off takes no --role"),
        (("off", "Ada Quill"), GOOD, "accounts off takes no --password-file"),
        (("off", "Ada Quill"), None, "only administrator"),
        (("role", "Ada Quill", "--role", "engineer"), None, "only administrator"),
        (("off", "Nobody"), None, "no account of the name 'Nobody'"),
        (("password", "Nobody"), GOOD, "no account of the name 'Nobody'"),
        (("list", "Ada"), None, "takes no name"),
        (("add", "ada quill", "--role", "engineer"), GOOD, "there is an account of the name"),
        (("add", "Ona", "--role", "engineer"), "short", "5 characters; use at least 10"),
        (("add", "Ona", "--role", "engineer"), "", "has 0 lines"),
        (("add", "Ona", "--role", "engineer"), "one line\nand another", "has 2 lines"),
        (("add", "Ona", "--role", "engineer"), "x" * 5000, "on one line and nothing else"),
    ],
)
def test_what_cannot_be_done_is_refused_in_one_line(here, words, password, said):
    status, out, err = here(*words, password=password)
    assert (status, out) == (2, "")
    assert said in err
    assert len(err.splitlines()) == 1


def test_passwords_that_differ_change_nothing(here, monkeypatch):
    typed = iter(["a lamp beside the stove", "a lamp beside the stave"])
    monkeypatch.setattr(command, "getpass", lambda _prompt: next(typed))
    monkeypatch.setattr(command.sys, "stdin", type("T", (), {"isatty": staticmethod(lambda: True)}))
    status, _, err = here("add", "Ona", "--role", "engineer")
    assert status == 2
    assert "the two passwords differ" in err
    assert "Ona" not in here("list")[1]


def test_a_missing_password_file_is_told(here, tmp_path):
    status, _, err = here("add", "Ona", "--role", "engineer", "--password-file", str(tmp_path / "none"))
    assert status == 2
    assert "cannot be read (no such file or directory)" in err
