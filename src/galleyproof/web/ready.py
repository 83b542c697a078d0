"""Jobs kept ready for live drawings: what computes is loaded when the first one is asked for."""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

from galleyproof.store.jobs import fingerprint

if TYPE_CHECKING:
    from galleyproof.web.live import Live

__all__ = ["Lives", "ready"]


class _Place:
    """Where one job is kept; whoever comes first makes it ready, others of the same job wait for that."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.live: Live | None = None


class Lives:
    """Jobs kept ready, the least used go first.

    Args:
        keep: How many. [-]
    """

    def __init__(self, keep: int = 4) -> None:
        self._keep = keep
        self._lock = threading.Lock()
        self._of: OrderedDict[str, _Place] = OrderedDict()

    def of(self, text: str) -> Live:
        """The job of a text, made ready if it is not.

        Raises:
            InputError: The text cannot be taken.
            CircuitError: The network has no solution.
        """
        key = fingerprint(text)
        with self._lock:
            place = self._of.setdefault(key, _Place())
            self._of.move_to_end(key)
            while len(self._of) > self._keep:
                self._of.popitem(last=False)
        with place.lock:
            if place.live is None:
                from galleyproof.web.live import Live

                place.live = Live(text)
            return place.live


_LIVES = Lives()


def ready(text: str) -> Live:
    """The job of a text, ready for questions."""
    return _LIVES.of(text)
