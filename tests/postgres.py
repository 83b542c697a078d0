"""A private PostgreSQL for tests: one server for each test process, one empty schema for each test.

A folder of tests takes it in with ``from tests.postgres import *`` in its ``conftest.py``.
"""

from __future__ import annotations

import itertools
import os
import shutil
import signal
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest

from galleyproof.store.database import Database
from galleyproof.store.upgrade import bring_up_to_date

__all__ = ["Server", "any_url", "db", "postgres", "postgres_url"]


def programs() -> Path | None:
    """Folder of the newest server's programs."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[-3]) if p.parts[-3].isdigit() else 0
    )
    if found:
        return found[-1].parent
    elsewhere = shutil.which("initdb")
    return Path(elsewhere).resolve().parent if elsewhere else None


class Server:
    """One server.

    Attributes:
        port: Where it listens. [-]
    """

    def __init__(self, bin_folder: Path) -> None:
        self._bin = bin_folder
        # not below the tests' own folder, which the server's user may not enter
        self._folder = Path(tempfile.mkdtemp(prefix="galleyproof-pg-", dir="/tmp"))
        if os.geteuid() == 0:
            shutil.chown(self._folder, "postgres")
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self._names = itertools.count()
        self._run(
            "initdb", "-D", "data", "-U", "app", "--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync"
        )
        self.start()

    def start(self, *, safe: bool = False) -> None:
        """Start it; ``safe`` keeps what is committed even when it is killed."""
        given = f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={self._folder}"
        given += " -c max_connections=200"
        if not safe:
            given += " -c fsync=off -c synchronous_commit=off -c full_page_writes=off"
        self._run("pg_ctl", "-D", "data", "-w", "-l", "log", "-o", given, "start")

    def stop(self) -> None:
        """Stop it as a power cut does."""
        self._run("pg_ctl", "-D", "data", "-m", "immediate", "stop")

    def remove(self) -> None:
        """Kill it and take its folder away."""
        pid = int((self._folder / "data" / "postmaster.pid").read_text().split()[0])
        os.kill(pid, signal.SIGKILL)
        shutil.rmtree(self._folder, ignore_errors=True)

    def new_url(self) -> str:
        """Address of a new, empty database: a schema of its own, which is made in no time and is all the app sees."""
        name = f"t{next(self._names)}"
        with psycopg.connect(f"postgresql://app@127.0.0.1:{self.port}/postgres", autocommit=True) as connection:
            connection.execute(f"CREATE SCHEMA {name}")
        return f"postgresql://app@127.0.0.1:{self.port}/postgres?options=-csearch_path%3D{name}"

    def _run(self, program: str, *words: str) -> None:
        as_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        done = subprocess.run(
            [*as_user, str(self._bin / program), *words],
            cwd=self._folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            timeout=60,
        )
        assert done.returncode == 0, done.stderr


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """The server of this test process; tests that need it are skipped where none is installed."""
    folder = programs()
    if folder is None:
        pytest.skip("there is no PostgreSQL on this machine; scripts/test-tools installs it")
    server = Server(folder)
    yield server
    server.remove()


@pytest.fixture
def postgres_url(postgres: Server) -> str:
    """Address of a new PostgreSQL database."""
    return postgres.new_url()


@pytest.fixture(params=["sqlite", "postgresql"])
def any_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Address of a new, empty database: of a file, then of PostgreSQL."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'jobs.db'}"
    return str(request.getfixturevalue("postgres_url"))


@pytest.fixture
def db(any_url: str) -> Iterator[Database]:
    """A database with its tables, of each kind."""
    made = Database(any_url)
    try:
        bring_up_to_date(made)
        yield made
    finally:
        made.close()
