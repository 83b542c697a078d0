"""A server that is killed again and again while people write, and what must be there afterwards.

The app is the real one on a real port; its process begins as a copy of one that has loaded everything already, so that
two hundred starts take a minute. Calculations are left out: they store nothing.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import re
import select
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

ROOT = Path(__file__).parents[1]
PATIENCE_S = 30.0
EDITORS, TABLETS = 2, 3


# --- the server --------------------------------------------------------------------------------------------------


class _Never:
    """A calculator that never ends: what is stored must not wait for it."""

    def ask(self, kind: object, text: str, *, owner: object = None) -> object:
        from galleyproof.web.work import Answer

        return Answer("running", words="not in this test")

    def wait(self, kind: object, text: str, seconds: float, *, owner: object = None) -> object:
        return self.ask(kind, text)

    def known(self, kind: object, texts: object) -> None:
        return None

    def close(self) -> None:
        pass


def stand_by(url: str, bound: int) -> None:
    """Load everything, then begin a server for every line that comes in; tells its process id when it listens."""
    import uvicorn

    from galleyproof.store.database import Database
    from galleyproof.store.upgrade import bring_up_to_date
    from galleyproof.web.app import make_app
    from galleyproof.web.settings import Settings

    _warm_up()
    listening = socket.socket(fileno=bound)
    for _ in sys.stdin:
        while True:  # those that were killed
            try:
                if os.waitpid(-1, os.WNOHANG)[0] == 0:
                    break
            except ChildProcessError:
                break
        if os.fork():
            continue
        db = Database(url)
        bring_up_to_date(db)
        app = make_app(Settings(database_url=url, workers=False), db)
        app.state.office.work = _Never()

        class Server(uvicorn.Server):
            async def startup(self, sockets: list[socket.socket] | None = None) -> None:
                await super().startup(sockets)
                sys.stdout.write(f"{os.getpid()}\n")
                sys.stdout.flush()

        Server(uvicorn.Config(app, log_level="critical", ws="none", lifespan="off")).run(sockets=[listening])
        os._exit(0)


def _warm_up() -> None:
    """Answer one of each request over another database, so that copies of this process have all they need."""
    import tempfile

    from starlette.testclient import TestClient

    from galleyproof.store.database import Database
    from galleyproof.store.jobs import add_job
    from galleyproof.store.people import LOCAL
    from galleyproof.store.upgrade import bring_up_to_date
    from galleyproof.web.app import make_app
    from galleyproof.web.settings import Settings

    with tempfile.TemporaryDirectory() as folder:
        db = Database(f"sqlite:///{folder}/warm.db")
        bring_up_to_date(db)
        with db.session() as session:
            add_job(session, LOCAL, draft("first"), "Saltmarrow trial", "K-1", "A", "")
        app = make_app(Settings(database_url="sqlite://", workers=False, hosts=("testserver",)), db)
        app.state.office.work = _Never()
        client = TestClient(app)
        token = re.search(r'"x-form-token": "([^"]+)"', client.get("/jobs/1/text").text)
        assert token is not None
        client.headers["x-form-token"] = token[1]
        sent = client.post("/jobs/1/text", data={"text": draft("x"), "based_on": "1"}, follow_redirects=False)
        assert sent.status_code == 303, sent.text
        sent = client.post("/jobs/1/check-out/entries", json={"entries": [_reading("a" * 32, 1)]})
        assert sent.json()["stored"], sent.text
        db.close()


class Victim:
    """The server, to be begun and killed at will.

    Attributes:
        port: Where it listens. [-]
    """

    def __init__(self, url: str) -> None:
        self._socket = socket.socket()
        self._socket.bind(("127.0.0.1", 0))
        self._socket.listen(64)
        self.port = self._socket.getsockname()[1]
        self._process = subprocess.Popen(
            [sys.executable, __file__, url, str(self._socket.fileno())],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
            pass_fds=[self._socket.fileno()],
        )
        self._pid: int | None = None

    def start(self) -> None:
        """Begin it; returns when it listens."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write("start\n")
        self._process.stdin.flush()
        assert select.select([self._process.stdout], [], [], PATIENCE_S)[0], "the server did not start"
        self._pid = int(self._process.stdout.readline())

    def kill(self) -> None:
        """SIGKILL: nothing of it runs any more, whatever it was at."""
        if self._pid is not None:
            os.kill(self._pid, signal.SIGKILL)
            self._pid = None

    def close(self) -> None:
        """End it for good."""
        self.kill()
        self._process.kill()
        self._process.communicate()
        self._socket.close()


# --- those who write ---------------------------------------------------------------------------------------------


@dataclass
class Tally:
    """What was written, by what the server said of it.

    Attributes:
        saves: Job and number of every save that was acknowledged -> its text.
        entries: Job and id of every reading that was acknowledged -> what was read.
        kills: How often the server was killed. [-]
        cut_off: Writes that got no answer. [-]
        strange: Answers nobody expected.
    """

    saves: dict[tuple[int, int], str] = field(default_factory=dict)
    entries: dict[tuple[int, str], str] = field(default_factory=dict)
    kills: int = 0
    cut_off: int = 0
    strange: list[str] = field(default_factory=list)

    def await_more(self) -> None:
        """Wait until one more write is acknowledged."""
        before, end = len(self.saves) + len(self.entries), time.monotonic() + PATIENCE_S
        while len(self.saves) + len(self.entries) == before:
            assert time.monotonic() < end, f"no write is acknowledged any more: {self.strange[-3:]}"
            time.sleep(0.002)


class _Browser:
    """One person's browser: keeps its cookie, says what answered."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._connection: http.client.HTTPConnection | None = None
        self._cookie = ""
        self._token = ""

    def close(self) -> None:
        """Give the connection back."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def ask(self, method: str, path: str, body: str = "", kind: str = "") -> tuple[int, str, str]:
        """Status, text, where it leads; the connection is begun anew when it broke."""
        if self._connection is None:
            self._connection = http.client.HTTPConnection("127.0.0.1", self._port, timeout=PATIENCE_S)
        headers = {"cookie": self._cookie, "x-form-token": self._token, "content-type": kind}
        try:
            self._connection.request(method, path, body.encode() or None, {k: v for k, v in headers.items() if v})
            answer = self._connection.getresponse()
            text = answer.read().decode()
        except (OSError, http.client.HTTPException):
            self.close()
            raise
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                self._cookie = value.split(";")[0]
        found = re.search(r'"x-form-token": "([^"]+)"', text)
        if found:
            self._token = found[1]
        return answer.status, text, answer.getheader("location") or ""


class Writers:
    """People at work: editors, each at a job of their own; tablets that share one."""

    def __init__(self, port: int, jobs: list[int], shared: int, text: Callable[[str], str], tally: Tally) -> None:
        self._port, self._text, self.tally = port, text, tally
        self._stop = threading.Event()
        self._lock = threading.Lock()
        works = [(self._edit, job) for job in jobs] + [(self._read, shared) for _ in range(TABLETS)]
        self._threads = [threading.Thread(target=self._on, args=work, daemon=True) for work in works]

    def start(self) -> None:
        """Begin."""
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        """End; what is under way is answered first."""
        self._stop.set()
        for thread in self._threads:
            thread.join(PATIENCE_S)
            assert not thread.is_alive(), "somebody still waits for an answer"

    def _on(self, work: Callable[[_Browser, int], None], job: int) -> None:
        browser = _Browser(self._port)
        while not self._stop.is_set():
            try:
                work(browser, job)
            except (OSError, http.client.HTTPException):
                with self._lock:
                    self.tally.cut_off += 1
        browser.close()

    def _edit(self, browser: _Browser, job: int) -> None:
        """Load the text, then save it over and over; after a break, load it again."""
        _, page, _ = browser.ask("GET", f"/jobs/{job}/text")
        found = re.search(r'name="based_on" value="(\d+)"', page)
        if found is None:
            return self._note(f"text page: {page[:200]}")
        based_on = int(found[1])
        while not self._stop.is_set():
            text = self._text(uuid4().hex)
            form = urlencode({"text": text, "based_on": based_on})
            status, page, _ = browser.ask("POST", f"/jobs/{job}/text", form, "application/x-www-form-urlencoded")
            if status != 303:
                return self._note(f"edit: {status} {page[-300:]}")
            based_on += 1
            with self._lock:
                self.tally.saves[job, based_on] = text
        return None

    def _read(self, browser: _Browser, job: int) -> None:
        """Send readings; each again until it is acknowledged, as a tablet does."""
        browser.ask("GET", "/jobs?words=nothing-is-called-so")
        device, sequence = uuid4().hex, 0
        while not self._stop.is_set():
            sequence += 1
            made = _reading(device, sequence)
            body = json.dumps({"entries": [made]})
            status, page, _ = browser.ask("POST", f"/jobs/{job}/check-out/entries", body, "application/json")
            if status != 200 or json.loads(page)["stored"] != [made["id"]]:
                return self._note(f"reading: {status} {page[-300:]}")
            with self._lock:
                self.tally.entries[job, made["id"]] = made["read"]
        return None

    def _note(self, what: str) -> None:
        with self._lock:
            self.tally.strange.append(what)
        time.sleep(0.01)


def _reading(device: str, sequence: int) -> dict[str, Any]:
    from galleyproof.checkout.log import fingerprint

    return {
        "id": uuid4().hex,
        "job": fingerprint(draft("first")),
        "job_name": "Saltmarrow trial",
        "probe": "note",
        "read": f"note {sequence}",
        "taken_at": "2026-11-25T14:05:09+01:00",
        "sequence": sequence,
        "device": device,
        "by": "Cy Moss",
    }


def draft(what: str) -> str:
    """A short text of a job; it still lacks everything, as at the beginning of the work."""
    return f"galleyproof: 1\njob:\n  name: Saltmarrow trial\n  number: K-1\n# {what}\n"


def kill_often(
    url: str, kills: int, seed: int, *, power_cut: Callable[[], None] | None = None, cut_every: int = 10
) -> Tally:
    """Write while the server is killed at random moments; gives what it acknowledged.

    Args:
        url: An empty database.
        kills: How often. [-]
        seed: Of the moments.
        power_cut: Cuts the database's own power and brings it back.
        cut_every: With every how many kills that is done. [-]
    """
    from galleyproof.store.database import Database
    from galleyproof.store.jobs import add_job
    from galleyproof.store.people import LOCAL
    from galleyproof.store.upgrade import bring_up_to_date

    moments = random.Random(seed)
    db = Database(url)
    bring_up_to_date(db)
    with db.session() as session:
        ids = [
            add_job(session, LOCAL, draft("first"), "Saltmarrow trial", "K-1", "A", "").id for _ in range(EDITORS + 1)
        ]
    db.close()
    tally = Tally()
    victim = Victim(url)
    writers = Writers(victim.port, ids[1:], ids[0], draft, tally)
    try:
        victim.start()
        writers.start()
        for n in range(1, kills + 1):
            if moments.random() < 0.8:  # the others come while it starts, or at its first answers
                tally.await_more()
            time.sleep(moments.uniform(0.0, 0.12))
            victim.kill()
            tally.kills += 1
            if power_cut is not None and n % cut_every == 0:
                power_cut()
            victim.start()
        time.sleep(0.2)
        writers.stop()
    finally:
        victim.close()
    return tally


def lost(url: str, tally: Tally) -> list[str]:
    """What was acknowledged and is not there, and what is there and cannot be right."""
    from galleyproof.store.database import Database
    from galleyproof.store.jobs import find_jobs, fingerprint, saves_of
    from galleyproof.store.readings import readings_of

    found: list[str] = []
    db = Database(url)
    with db.session(reads=True) as session:
        saves, entries = {}, {}
        for head in find_jobs(session):
            mine = saves_of(session, head.id)
            if [s.number for s in mine] != list(range(head.head, 0, -1)):
                found.append(f"job {head.id}: its saves are {[s.number for s in mine][:5]} ..., its head {head.head}")
            found += [f"job {head.id}, save {s.number}: half" for s in mine if fingerprint(s.text) != s.sha256]
            saves.update({(head.id, s.number): s.text for s in mine})
            entries.update({(head.id, e.id): e.read for e in readings_of(session, head.id)})
    db.close()
    found += [f"save {key}" for key, text in tally.saves.items() if saves.get(key) != text]
    found += [f"reading {key}" for key, read in tally.entries.items() if entries.get(key) != read]
    return found


if __name__ == "__main__":
    stand_by(sys.argv[1], int(sys.argv[2]))
