"""Jobs kept ready for live drawings: what computes is loaded when the first one is asked for."""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import TYPE_CHECKING

from galleyproof.store.jobs import fingerprint

if TYPE_CHECKING:
    from galleyproof.web.live import Live

__all__ = ["Lives", "ready"]


class Lives:
    """Jobs kept ready, the least used go first.

    Args:
        keep: How many. [-]
    """

    def __init__(self, keep: int = 4) -> None:
        self._keep = keep
        self._lock = threading.Lock()
        self._of: OrderedDict[str, Live] = OrderedDict()

    def of(self, text: str) -> Live:
        """The job of a text, made ready if it is not.

        Raises:
            InputError: The text cannot be taken.
            CircuitError: The network has no solution.
        """
        key = fingerprint(text)
        with self._lock:
            found = self._of.get(key)
            if found is None:
                from galleyproof.web.live import Live

                found = self._of[key] = Live(text)
                while len(self._of) > self._keep:
                    self._of.popitem(last=False)
            self._of.move_to_end(key)
        return found


_LIVES = Lives()


def ready(text: str) -> Live:
    """The job of a text, ready for questions."""
    return _LIVES.of(text)
