"""``galleyproof serve`` as a real process: from nothing to a page, and what it says when it cannot."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from pathlib import Path

import pytest

from galleyproof.store.database import Database
from galleyproof.store.jobs import add_job, find_jobs
from galleyproof.store.people import LOCAL
from galleyproof.store.upgrade import bring_up_to_date
from galleyproof.web.example import EXAMPLE, add_example

ROOT = Path(__file__).parents[2]
COMMAND = (sys.executable, "-m", "galleyproof", "serve", "--no-browser")


def environment(**given):
    kept = {k: v for k, v in os.environ.items() if not k.startswith("GALLEYPROOF_")}
    return {**kept, **given}


@contextmanager
def serving(folder, *more, **env):
    """A running server; gives the process and the first line it said with its address."""
    process = subprocess.Popen(
        [*COMMAND, "--data", str(folder), *more],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment(**env),
    )
    try:
        said = []
        for line in process.stdout:
            said.append(line)
            if "http://" in line:
                break
        yield process, "".join(said)
    finally:
        process.kill()
        process.communicate()


def refused(*more, **env):
    done = subprocess.run([*COMMAND, *more], capture_output=True, text=True, timeout=180, env=environment(**env))
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1, done.stderr
    return done.stderr


def page(said, path="jobs"):
    return urllib.request.urlopen(re.search(r"http://\S+/", said)[0] + path, timeout=10).read().decode()


def test_the_example_that_comes_along_is_the_school_kitchen():
    assert EXAMPLE.read_bytes() == (ROOT / "examples" / "school-kitchen.yaml").read_bytes()


def test_from_nothing_to_a_page_and_a_clean_end(tmp_path):
    with serving(tmp_path / "new" / "data", "--port", "0") as (process, said):
        first = page(said)
        # the time the processor worked: what else this machine does now has no part in it; bench/ takes the clock's
        fields = Path(f"/proc/{process.pid}/stat").read_text().rpartition(")")[2].split()
        took_s = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
        assert "Saltmarrow School Kitchen" in first
        assert took_s < 3
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=90)
        assert process.returncode == 0
        assert err.strip() == "galleyproof: stopped"


def test_the_example_comes_once_and_only_into_an_empty_database(tmp_path):
    def started(name, *, with_a_job=False):
        db = Database(f"sqlite:///{tmp_path / name}")
        bring_up_to_date(db)
        if with_a_job:
            with db.session() as s:
                add_job(s, LOCAL, "galleyproof: 1", "restored", "", "A", "")
        added = add_example(db)
        with db.session() as s:
            names = [h.name for h in find_jobs(s)]
        db.close()
        return added, names

    assert started("a.db") == (True, ["Saltmarrow School Kitchen"])
    assert started("a.db") == (False, ["Saltmarrow School Kitchen"])
    assert started("b.db", with_a_job=True) == (False, ["restored"])


def test_ctrl_c_ends_calculations_too_and_without_a_word_of_theirs(tmp_path):
    # as a terminal does it: the signal goes to the server and to every process it began
    process = subprocess.Popen(
        [*COMMAND, "--data", str(tmp_path), "--port", "0"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=environment(),
        start_new_session=True,
    )
    try:
        said = process.stdout.readline()
        page(said, "jobs/1/issued")  # begins a calculation
        threads = Path(f"/proc/{process.pid}/task").glob("*/children")
        workers = [pid for thread in threads for pid in thread.read_text().split()]
        assert workers
        os.killpg(process.pid, signal.SIGINT)
        _, err = process.communicate(timeout=90)
    finally:
        process.kill()
        process.communicate()
    assert process.returncode == 0
    assert err.strip() == "galleyproof: stopped"
    end = time.monotonic() + 20
    while [pid for pid in workers if Path(f"/proc/{pid}").exists() and "Z" not in state(pid)]:
        assert time.monotonic() < end, "a calculation goes on without its server"
        time.sleep(0.05)


def state(pid):
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return "Z"


def test_without_a_port_the_next_free_one_is_taken_and_said(tmp_path):
    with socket.socket() as usual:
        try:
            usual.bind(("127.0.0.1", 8440))
            usual.listen()
        except OSError:
            pass  # something else holds it, which does as well
        with serving(tmp_path) as (_, said):
            assert re.search(r"port 8440 is taken; using 84[4-6]\d", said)
            assert "Saltmarrow" in page(said)


def test_a_taken_port_that_was_asked_for_is_refused(tmp_path):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        assert re.search(rf"--port {port} is taken: .*leave --port out", refused("--data", tmp_path, "--port", port))


def test_other_computers_are_not_let_in_without_accounts(tmp_path):
    said = refused("--data", tmp_path, "--host", "0.0.0.0", "--port", "0")
    assert "no accounts yet" in said
    assert "galleyproof accounts add NAME --role administrator" in said


@pytest.mark.parametrize(
    ("more", "env", "said"),
    [
        (["--host", "no.such.host.example"], {}, "no such address"),
        (["--host", "192.0.2.1"], {}, "this computer has no such address"),
        (["--port", "99999"], {}, "'99999' is no port; give a number from 1 to 65535"),
        (["--port", "0"], {"GALLEYPROOF_DATABASE_URL": "oracle://x"}, "is not supported|cannot be read"),
        (["--port", "0"], {"GALLEYPROOF_DATABASE_URL": "nonsense"}, "the database address cannot be read"),
        (
            ["--port", "0"],
            {"GALLEYPROOF_DATABASE_URL": "postgresql://app@127.0.0.1:1/none"},
            "the database cannot be reached.*start it",
        ),
    ],
)
def test_what_cannot_be_started_is_said_in_one_line(tmp_path, more, env, said):
    assert re.search(said, refused("--data", str(tmp_path), *more, **env))


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").write_text("")
    assert "--data DIR" in refused("--data", str(tmp_path / "file" / "under"))


def test_a_file_that_is_no_database_is_said(tmp_path):
    (tmp_path / "jobs.db").write_text("a shopping list, and no database at all\n" * 100)
    assert "not a database" in refused("--data", str(tmp_path), "--port", "0")


def test_the_data_folder_follows_the_environment(tmp_path):
    named = {"GALLEYPROOF_DATA": str(tmp_path / "named")}
    assert f"there are no jobs in {tmp_path / 'named'} yet" in command("backup", tmp_path / "x", **named).stderr
    nearer = command("backup", tmp_path / "x", "--data", tmp_path / "nearer", **named).stderr
    assert f"there are no jobs in {tmp_path / 'nearer'} yet" in nearer
    assert (
        f"there are no jobs in {tmp_path / 'galleyproof'} yet"
        in command("backup", tmp_path / "x", XDG_DATA_HOME=str(tmp_path)).stderr
    )


# --- backup and restore as processes ------------------------------------------------------------------------------


def command(*words, **env):
    return subprocess.run(
        [sys.executable, "-m", "galleyproof", *map(str, words)],
        capture_output=True,
        text=True,
        timeout=180,
        env=environment(**env),
    )


def test_a_backup_of_the_running_app_is_restored_into_the_other_database(tmp_path, postgres_url):
    with serving(tmp_path / "office", "--port", "0"):
        made = command("backup", tmp_path / "office.backup", "--data", tmp_path / "office")
    assert made.returncode == 0, made.stderr
    assert "1 job, 1 save, 0 readings, 0 issued sets and 0 accounts" in made.stdout

    env = {"GALLEYPROOF_DATABASE_URL": postgres_url}
    back = command("restore", tmp_path / "office.backup", "--data", tmp_path / "new", **env)
    assert back.returncode == 0, back.stderr
    assert "restored 1 job, 1 save" in back.stdout
    refused = command("restore", tmp_path / "office.backup", "--data", tmp_path / "new", **env)
    assert refused.returncode == 2
    assert "holds 1 job and 1 save; " in refused.stderr
    assert "--replace" in refused.stderr
    with serving(tmp_path / "new", "--port", "0", **env) as (_, said):
        assert "jobs: PostgreSQL" in said
        assert page(said).count('<th scope="row">') == 1


def test_what_backup_and_restore_cannot_do_is_said_in_one_line(tmp_path):
    (tmp_path / "list.txt").write_text("a shopping list")
    for words, said in (
        (["backup", tmp_path / "x.backup", "--data", tmp_path / "none"], "there are no jobs in .*none yet"),
        (["restore", tmp_path / "none.backup", "--data", tmp_path / "new"], "no such file"),
        (["restore", tmp_path / "list.txt", "--data", tmp_path / "new"], "no whole backup"),
    ):
        done = command(*words)
        assert (done.returncode, done.stdout) == (2, "")
        assert re.search(said, done.stderr)
        assert len(done.stderr.strip().splitlines()) == 1
    assert not (tmp_path / "new").exists()
