"""Calculations behind the pages: each for one text of a job, in a process of its own, remembered by the text.

A result is only ever found under the very text it was computed from, so a page cannot show one of an older job by
mistake. Quick and slow work wait in lines of their own.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from importlib import import_module
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Literal

from galleyproof.store.jobs import fingerprint
from galleyproof.web.apart import begin

__all__ = ["Answer", "Calculator", "Kind", "Progress", "link_and_text"]

Progress = Callable[[float, str], None]
"""Takes how much is done [0 to 1] and what is being done."""

KEEP_LARGE = 8
"""Results of megabytes that are kept, the least used go first. [-]"""

State = Literal["waiting", "running", "done", "failed"]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of calculation.

    Attributes:
        name: Unique; part of the page's address for its progress.
        function: ``module:name`` of a function of the text and a ``Progress``.
        slow: Whether it waits in the line of the slow ones.
        words: What it does, for the progress line.
        large: Whether a result is of megabytes: few of these are kept.
        linked: Whether it also wants the job's address, which then stands before the text (see ``link_and_text``).
    """

    name: str
    function: str
    slow: bool
    words: str
    large: bool = False
    linked: bool = False

    def compute(self, text: str, progress: Progress) -> Any:
        """Do it here and now."""
        module, _, name = self.function.partition(":")
        return getattr(import_module(module), name)(text, progress)


BETWEEN = "\0"
"""Stands between an address and a text; neither holds it."""


def link_and_text(given: str) -> tuple[str, str]:
    """The job's address, empty without one, and its text, from what a ``linked`` kind is given."""
    link, between, text = given.partition(BETWEEN)
    return (link, text) if between else ("", given)


@dataclass(frozen=True, slots=True)
class Answer:
    """How far a calculation is.

    Attributes:
        state: Where it stands.
        result: What came out, when done.
        share: How much is done. [0 to 1]
        words: What is being done, or why it failed.
    """

    state: State
    result: Any = None
    share: float = 0.0
    words: str = ""

    @property
    def done(self) -> bool:
        """Whether there is a result."""
        return self.state == "done"


@dataclass(slots=True)
class _Task:
    kind: Kind
    text: str
    key: tuple[str, str]
    owner: int | None
    state: State = "waiting"
    result: Any = None
    share: float = 0.0
    words: str = ""
    ended: threading.Event = field(default_factory=threading.Event)
    final: bool = False
    """Whether it would fail again: the function itself raised. What was dropped or cut off is tried again."""

    def answer(self) -> Answer:
        return Answer(self.state, self.result, self.share, self.words or self.kind.words)


class Calculator:
    """Computes in the background.

    Args:
        processes: Whether to use processes of its own; without, everything is computed where it is asked (tests).
        keep: Results kept of each line, the least used go first. [-]
    """

    def __init__(self, *, processes: bool = True, keep: int = 120) -> None:
        self._processes, self._keep = processes, keep
        self._lock = threading.Lock()
        self._tasks: OrderedDict[tuple[str, str], _Task] = OrderedDict()
        self._lanes = {slow: _Lane(self._lock) for slow in (False, True)} if processes else {}

    def ask(self, kind: Kind, text: str, *, owner: int | None = None) -> Answer:
        """How far it is; begins it when nobody has.

        Args:
            kind: What to compute.
            text: The job.
            owner: The job's number in the store: what still waits for an older text of it is dropped.
        """
        return self._task(kind, text, owner).answer()

    def wait(self, kind: Kind, text: str, seconds: float, *, owner: int | None = None) -> Answer:
        """As ``ask``, after it ended or some time has passed."""
        task = self._task(kind, text, owner)
        task.ended.wait(seconds)
        return task.answer()

    def known(self, kind: Kind, texts: Iterable[str]) -> tuple[int, Answer] | None:
        """The first of some texts that has a result, with its place; nothing is begun."""
        with self._lock:
            for place, text in enumerate(texts):
                task = self._tasks.get((kind.name, fingerprint(text)))
                if task is not None and task.state == "done":
                    return place, task.answer()
        return None

    def close(self) -> None:
        """End all work; what waits is left undone."""
        for lane in self._lanes.values():
            lane.close()

    def _task(self, kind: Kind, text: str, owner: int | None) -> _Task:
        key = (kind.name, fingerprint(text))
        with self._lock:
            task = self._tasks.get(key)
            if task is not None and (task.state != "failed" or task.final):
                self._tasks.move_to_end(key)
                return task
            task = self._tasks[key] = _Task(kind, text, key, owner)
            self._forget()
            if self._processes:
                for dropped in self._lanes[kind.slow].add(task):
                    self._tasks.pop(dropped.key, None)
        if not self._processes:
            _compute_here(task)
        return task

    def _forget(self) -> None:
        for large, keep in ((True, KEEP_LARGE), (False, self._keep)):
            ended = [k for k, t in self._tasks.items() if t.ended.is_set() and t.kind.large == large]
            for key in ended[: max(0, len(ended) - keep)]:
                del self._tasks[key]


def _compute_here(task: _Task) -> None:
    def progress(share: float, words: str) -> None:
        task.share, task.words = share, words

    try:
        task.result = task.kind.compute(task.text, progress)
        task.state = "done"
    except Exception as error:  # noqa: BLE001  a page has to say what happened, whatever it was
        task.state, task.words, task.final = "failed", _said(error), True
    task.ended.set()


def _said(error: BaseException) -> str:
    return f"{str(error).strip() or type(error).__name__}"


class _Lane:
    """One process, and who waits for it."""

    def __init__(self, lock: threading.Lock) -> None:
        self._lock = lock
        self._queue: deque[_Task] = deque()
        self._some = threading.Condition(lock)
        self._closed = False
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        threading.Thread(target=self._serve, daemon=True, name="galleyproof-lane").start()

    def add(self, task: _Task) -> list[_Task]:
        """Put a task in line; the lock is held. Gives what is dropped for it."""
        dropped = [
            t for t in self._queue if task.owner is not None and t.owner == task.owner and t.kind.name == task.kind.name
        ]
        for old in dropped:
            self._queue.remove(old)
            old.state, old.words = "failed", "a newer text of the job is computed instead"
            old.ended.set()
        self._queue.append(task)
        self._some.notify()
        return dropped

    def close(self) -> None:
        with self._some:
            self._closed = True
            self._some.notify()
        self._stop()

    def _stop(self) -> None:
        if self._process is not None and self._process.is_alive():
            self._process.kill()
            self._process.join(5)

    def _serve(self) -> None:
        while True:
            with self._some:
                while not self._queue and not self._closed:
                    self._some.wait()
                if self._closed:
                    return
                task = self._queue.popleft()
                task.state = "running"
            try:
                self._run(task)
            except (EOFError, OSError):
                # the process died: out of memory, or killed; the next task gets a new one
                task.state, task.words = "failed", "the calculation was cut off; ask for it again"
                self._process = self._pipe = None
            except Exception as error:  # noqa: BLE001  it is said on the page, and the lane lives on
                task.state, task.words = "failed", _said(error)
                self._stop()
                self._process = self._pipe = None
            task.ended.set()

    def _run(self, task: _Task) -> None:
        if self._pipe is None or self._process is None or not self._process.is_alive():
            self._start()
        pipe = self._pipe
        if pipe is None:
            raise EOFError
        pipe.send((task.kind, task.text))
        while True:
            what, value = pipe.recv()
            if what == "progress":
                task.share, task.words = value
            elif what == "done":
                task.result = value
                task.share, task.state = 1.0, "done"
                return
            else:
                task.words, task.state, task.final = value, "failed", True
                return

    def _start(self) -> None:
        self._process, self._pipe = begin(_work, "galleyproof-work")


def _work(pipe: Connection) -> None:
    """The process: compute what comes, say what came out, until the other end is closed."""
    last = 0.0

    def progress(share: float, words: str) -> None:
        nonlocal last
        if time.monotonic() - last > 0.1:
            last = time.monotonic()
            pipe.send(("progress", (share, words)))

    while True:
        try:
            kind, text = pipe.recv()
            try:
                answer: tuple[str, Any] = ("done", kind.compute(text, progress))
            except OSError:
                raise  # nobody listens any more
            except Exception as error:  # noqa: BLE001  it is said on the page, and the process lives on
                answer = ("failed", _said(error))
            pipe.send(answer)
        except (EOFError, OSError, KeyboardInterrupt):
            return  # the server is gone
