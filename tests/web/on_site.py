"""A check-out without a browser: the ferry café's book, simulated once a process, and people who read meters."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from functools import cache

from tests.checkout.support import table
from tests.web.support import EXAMPLES, Site

from galleyproof.checkout.model import Reading
from galleyproof.web import book
from galleyproof.web.book import Book
from galleyproof.web.check_out_state import State
from galleyproof.web.checked import checked

CAFE = "ferry-cafe"
TEXT = (EXAMPLES / f"{CAFE}.yaml").read_text()


@cache
def _book(text: str) -> Book:
    return _computed(text, lambda _share, _words: None)


_computed = book.checked_out


def book_of_cafe() -> Book:
    """The ferry café's book."""
    return _book(TEXT)


def once(monkeypatch) -> None:
    """Let each text be simulated once a process: what comes out is what always comes out, only sooner."""
    monkeypatch.setattr(book, "checked_out", lambda text, _progress: _book(text))


class Person:
    """Somebody with a tablet and a meter.

    Args:
        site: The office.
        job: The job.
        name: Theirs.
        wrong: What the installation reads otherwise than it should: index of a probe -> reading.
    """

    _ids = itertools.count(1)

    def __init__(
        self, site: Site, job: int, name: str = "R. Quayle", wrong: Mapping[int, Reading] | None = None
    ) -> None:
        self.site, self.job, self.name = site, job, name
        self.wrong = wrong or {}
        self.device = f"{next(self._ids):032x}"
        self.sequence = 0
        self.plan = site.client.get(f"/jobs/{job}/check-out/plan").json()
        self.token = site.token()

    def entry(self, probe: str, read: str, **other: object) -> dict[str, object]:
        """An entry as the page makes it."""
        self.sequence += 1
        made: dict[str, object] = {
            "id": f"{next(self._ids):032x}",
            "job": self.plan["job"],
            "job_name": self.plan["name"],
            "probe": probe,
            "read": read,
            "taken_at": f"2026-11-25T14:{self.sequence // 60:02d}:{self.sequence % 60:02d}+01:00",
            "sequence": self.sequence,
            "device": self.device,
            "by": self.name,
        }
        return made | other

    def send(self, *entries: dict[str, object]) -> dict:
        """Send entries as the page does."""
        answer = self.site.client.post(
            f"/jobs/{self.job}/check-out/entries", json={"entries": entries}, headers={"x-form-token": self.token}
        )
        assert answer.status_code == 200, answer.text
        return answer.json()

    def reads(self, probe: str) -> str:
        """What the meter shows here, as one types it."""
        made = table()
        index = next(i for i, p in enumerate(made.checkout.probes) if p.key == probe)
        reading = self.wrong.get(index, made.right[index])
        if isinstance(reading, str):
            return reading
        return "OL" if math.isinf(reading) else f"{reading:.2f}"

    def read(self, probe: str, **other: object) -> dict:
        """Read a probe and send it."""
        return self.send(self.entry(probe, self.reads(probe), **other))

    def read_all(self, but: Sequence[str] = ()) -> dict:
        """Read the whole plan."""
        keys = [p["key"] for p in self.plan["probes"] if p["key"] not in but]
        return self.send(*(self.entry(k, self.reads(k)) for k in keys))


def state_of(site: Site, job: int) -> State:
    """What the log of a job says."""
    return checked(site.client.app.state.office, job, None).known()  # type: ignore[attr-defined]
