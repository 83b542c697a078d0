"""Work done beside other work, in a copy of this process, where that is safe; done in its turn everywhere else."""

from __future__ import annotations

import os
import select
import signal
import threading
import time
from collections.abc import Callable
from types import TracebackType
from typing import NoReturn, Self

PATIENCE_S = 30.0
"""A copy that is not done by then is ended, and its work done here. [s]"""


class Beside:
    """A computation in plain Python that may run while the caller goes on.

    A copy of the process does it where that is wanted, this process has one thread of Python and there is a core to
    spare; the result comes back through a pipe. Else, and when the copy fails in any way, ``result`` computes it.

    Args:
        make: Takes nothing, changes nothing outside, and calls no library that keeps threads of its own.
        wanted: False to compute it in ``result``.
    """

    def __init__(self, make: Callable[[], bytes], *, wanted: bool) -> None:
        self._make = make
        self._child = 0
        self._pipe = -1
        if not (wanted and _safe()):
            return
        reader, writer = os.pipe()
        try:
            self._child = os.fork()
        except OSError:
            os.close(reader)
            os.close(writer)
            return
        if self._child == 0:
            _work(make, reader, writer)
        os.close(writer)
        self._pipe = reader

    def result(self) -> bytes:
        """The result; waits for it."""
        if not self._child:
            return self._make()
        parts = []
        end = time.monotonic() + PATIENCE_S
        while select.select([self._pipe], [], [], max(0.0, end - time.monotonic()))[0]:
            part = os.read(self._pipe, 1 << 20)
            if not part:
                break
            parts.append(part)
        else:
            os.kill(self._child, signal.SIGKILL)
        return b"".join(parts) if self._end() == 0 else self._make()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End it where nobody asked for its result."""
        if self._child:
            os.kill(self._child, signal.SIGKILL)
            self._end()

    def _end(self) -> int:
        os.close(self._pipe)
        _, status = os.waitpid(self._child, 0)
        self._child = 0
        return status


def _safe() -> bool:
    if not hasattr(os, "fork") or not hasattr(os, "sched_getaffinity"):
        return False
    return threading.active_count() == 1 and len(os.sched_getaffinity(0)) > 1


def _work(make: Callable[[], bytes], reader: int, writer: int) -> NoReturn:
    """The copy's whole life; it never returns."""
    status = 1
    try:
        os.close(reader)
        data = make()
        with os.fdopen(writer, "wb") as pipe:
            pipe.write(data)
        status = 0
    finally:
        # whatever went wrong, the caller does the work again and meets it
        os._exit(status)
