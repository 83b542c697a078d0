"""The search behind the pages: a process that keeps the tables of the jobs asked about last, and answers questions.

A table of what every slip reads is too much to be unpacked for every request and too much to keep for every job, so
it lives here, for a few jobs at a time. The bench that simulates two slips at once is built beside it.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import TYPE_CHECKING

from galleyproof.errors import GalleyproofError
from galleyproof.web.apart import begin
from galleyproof.web.book import Book, open_book, table_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from galleyproof.checkout.beliefs import Observation
    from galleyproof.checkout.diagnosis import Diagnosis
    from galleyproof.checkout.model import Reading
    from galleyproof.checkout.whole import Bench
    from galleyproof.proof.slips import Slip

__all__ = ["Desk", "DeskError", "Found", "Question", "Suspected"]

JOBS = 3
"""Jobs whose tables are kept, the least used go first. [-]"""
SEARCHES = 8
"""Searches kept, so that one more reading costs one more reading. [-]"""
MOST = 6
"""Suspects told. [-]"""
ENOUGH = 0.5
"""A reading in the stage one works in is asked for first when it tells this share of what a later one tells. [ratio]"""
SMALL = 0.005
"""A chance below this is not worth a line. [ratio]"""


class DeskError(GalleyproofError):
    """The search could not be asked; the message says why."""


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked.

    Attributes:
        taken: What was read and complained of, in order.
        left_out: Keys of probes that cannot be done.
        stages: Stages of probes to be asked for first, unless a later one tells far more.
    """

    taken: tuple[Observation, ...]
    left_out: frozenset[str] = frozenset()
    stages: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Suspected:
    """A hypothesis.

    Attributes:
        slips: Keys; empty: nothing that a reading could show is wrong.
        others: Keys of slips that no probe tells from it.
        chance: Of the whole group. [ratio]
        why: What one would read with it beside what was read, a line for each thing taken.
    """

    slips: tuple[str, ...]
    others: tuple[str, ...]
    chance: float
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """The answer.

    Attributes:
        suspects: The likeliest first.
        fits: False when nothing explains what was taken.
        sure: Whether one group is left that matters.
        here: Preparation the installation is taken to be in.
        probe: Key of the probe that tells most; empty when none tells anything.
        bits: What it tells on average. [bit]
        minutes: What it takes. [min]
    """

    suspects: tuple[Suspected, ...]
    fits: bool
    sure: bool
    here: str
    probe: str = ""
    bits: float = 0.0
    minutes: float = 0.0


class Desk:
    """Answers questions.

    Args:
        processes: Whether it lives in a process of its own; without, where it is asked (tests).
    """

    def __init__(self, *, processes: bool = True) -> None:
        self._processes = processes
        self._lock = threading.Lock()
        self._prepared = ""
        self._here = None if processes else _Memory()
        self._there: BaseProcess | None = None
        self._pipe: Connection | None = None

    def ask(self, key: str, text: str, book: Book, question: Question | None) -> Found | None:
        """The answer to a question; without one the job's table is only made ready.

        Args:
            key: Fingerprint of the job's text.
            text: The text, from which a bench is built when one is needed.
            book: Its check-out.
            question: What is asked.

        Raises:
            DeskError: It could not be answered.
        """
        with self._lock:
            if self._here is not None:
                self._here.open(key, text, book)
                return None if question is None else self._here.answer(key, question)
            try:
                return self._asked(key, text, book, question)
            except (EOFError, OSError):
                self._stop()  # it died: out of memory, or killed; a new one knows nothing and is told again
            try:
                return self._asked(key, text, book, question)
            except (EOFError, OSError):
                self._stop()
                raise DeskError("the search was cut off twice; ask again, or use the field sheet meanwhile") from None

    def prepare(self, key: str, text: str, book: Book) -> None:
        """Make a job's table ready while its page is being looked at; comes back at once."""
        if self._processes and key != self._prepared:
            self._prepared = key
            threading.Thread(
                target=self._prepare, args=(key, text, book), daemon=True, name="galleyproof-ready"
            ).start()

    def _prepare(self, key: str, text: str, book: Book) -> None:
        try:
            self.ask(key, text, book, None)
        except DeskError:
            self._prepared = ""  # whoever asks is told

    def close(self) -> None:
        """End it."""
        with self._lock:
            self._stop()

    def _asked(self, key: str, text: str, book: Book, question: Question | None) -> Found | None:
        if self._pipe is None or self._there is None or not self._there.is_alive():
            self._start()
        pipe = self._pipe
        if pipe is None:
            raise EOFError
        pipe.send(("knows", key))
        if not pipe.recv():
            pipe.send(("open", (key, text, book)))
            pipe.recv()
        if question is None:
            return None
        pipe.send(("ask", (key, question)))
        said, found = pipe.recv()
        if said != "found":
            raise DeskError(str(found))
        assert isinstance(found, Found)
        return found

    def _start(self) -> None:
        self._there, self._pipe = begin(_sit, "galleyproof-desk")

    def _stop(self) -> None:
        if self._there is not None and self._there.is_alive():
            self._there.kill()
            self._there.join(5)
        self._there = self._pipe = None


def _sit(pipe: Connection) -> None:
    """The process: answer until the other end is closed."""
    memory = _Memory()
    while True:
        try:
            what, given = pipe.recv()
        except (EOFError, KeyboardInterrupt):
            return
        if what == "knows":
            pipe.send(given in memory.jobs)
        elif what == "open":
            memory.open(*given, ahead=True)
            pipe.send(True)
        else:
            try:
                pipe.send(("found", memory.answer(*given)))
            except Exception as error:  # noqa: BLE001  it is said on the page, and the process lives on
                pipe.send(("failed", f"{error}" or type(error).__name__))


class _Job:
    """One job's table, and the bench that simulates two slips at once, built when it is first needed."""

    def __init__(self, text: str, book: Book) -> None:
        opened = open_book(book)
        self.text = text
        self.slips = opened.slips
        self.table = table_of(book, opened)
        self._bench: Bench | None = None
        self._building = threading.Lock()

    def pair(self, a: Slip, b: Slip) -> Mapping[int, Reading] | None:
        return self.bench().pair(a, b)

    def bench(self) -> Bench:
        from galleyproof.checkout.whole import Bench
        from galleyproof.design.build import build_design
        from galleyproof.job.read import read_job
        from galleyproof.library.reader import load_library

        with self._building:
            if self._bench is None:
                job = read_job(self.text, "job")
                self._bench = Bench(job, build_design(job), load_library())
            return self._bench


@dataclass
class _Search:
    search: Diagnosis
    taken: list[Observation] = field(default_factory=list)
    pairs: list[int] = field(default_factory=list)
    """Pairs there were after each observation. [-]"""

    def move(self, wanted: tuple[Observation, ...]) -> bool:
        """Bring it to what was taken; False when only a new one gives what a new one would."""
        same = 0
        while same < min(len(wanted), len(self.taken)) and wanted[same] == self.taken[same]:
            same += 1
        built = self.pairs[-1] if self.pairs else 0
        if (self.pairs[same - 1] if same else 0) != built:
            return False
        for _ in range(len(self.taken) - same):
            self.search.undo()
        del self.taken[same:], self.pairs[same:]
        for seen in wanted[same:]:
            self.search.observe(seen)
            self.taken.append(seen)
            self.pairs.append(len(self.search._beliefs.pairs))
        return True


class _Memory:
    def __init__(self) -> None:
        self.jobs: OrderedDict[str, _Job] = OrderedDict()
        self._searches: OrderedDict[tuple[str, int], _Search] = OrderedDict()
        self._count = 0

    def open(self, key: str, text: str, book: Book, *, ahead: bool = False) -> None:
        if key not in self.jobs:
            made = self.jobs[key] = _Job(text, book)
            if ahead:
                threading.Thread(target=made.bench, daemon=True, name="galleyproof-bench").start()
        self.jobs.move_to_end(key)
        while len(self.jobs) > JOBS:
            gone, _ = self.jobs.popitem(last=False)
            for place in [p for p in self._searches if p[0] == gone]:
                del self._searches[place]

    def answer(self, key: str, question: Question) -> Found:
        job = self.jobs[key]
        search = self._search(key, job, question.taken)
        suspects = tuple(
            Suspected(s.slips, s.others, s.chance, tuple(search.explain(s)))
            for s in search.suspects(MOST)
            if s.chance >= SMALL
        )
        advice = search.next_probe(lambda p: p.key not in question.left_out)
        if advice is not None and question.stages and advice.probe.stage not in question.stages:
            near = search.next_probe(lambda p: p.key not in question.left_out and p.stage in question.stages)
            if near is not None and near.bits >= ENOUGH * advice.bits:
                advice = near
        fits, sure = search.fits, search.sure
        if advice is None:
            return Found(suspects, fits, sure, search.here)
        return Found(suspects, fits, sure, search.here, advice.probe.key, advice.bits, advice.minutes)

    def _search(self, key: str, job: _Job, taken: tuple[Observation, ...]) -> Diagnosis:
        """A search that stands where a new one would, one that is there already if it can be."""
        from galleyproof.checkout.diagnosis import Diagnosis

        def shared(search: _Search) -> int:
            pairs = zip(search.taken, taken, strict=False)
            return next((n for n, (a, b) in enumerate(pairs) if a != b), min(len(search.taken), len(taken)))

        own = {place: search for place, search in self._searches.items() if place[0] == key}
        for place in sorted(own, key=lambda p: -shared(own[p])):
            if len(own[place].taken) <= len(taken) + 2 and own[place].move(taken):
                self._searches.move_to_end(place)
                return own[place].search
        made = _Search(Diagnosis(job.table, job.slips, job.pair))
        made.move(taken)
        self._count += 1
        self._searches[key, self._count] = made
        while len(self._searches) > SEARCHES:
            self._searches.popitem(last=False)
        return made.search
