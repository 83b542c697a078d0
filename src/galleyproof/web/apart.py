"""Processes of the server's own, which Ctrl-C reaches only through the server."""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

__all__ = ["begin"]


def begin(work: Callable[[Connection], None], name: str) -> tuple[BaseProcess, Connection]:
    """Begin a process that talks over a pipe; gives it and our end.

    Args:
        work: Takes the other end; what is named by its module, since the process starts from nothing.
        name: What the process is called.
    """
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    made = context.Process(target=work, args=(theirs,), daemon=True, name=name)
    if not hasattr(signal, "pthread_sigmask"):
        made.start()
    else:
        # a terminal sends Ctrl-C to every process; what is blocked while a process begins stays blocked in it.
        # The first start of a process would set the mask back in between, so that part is done before.
        from multiprocessing import resource_tracker

        resource_tracker.ensure_running()
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        try:
            made.start()
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
    theirs.close()
    return made, ours
