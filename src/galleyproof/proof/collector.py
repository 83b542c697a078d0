"""Python's collector of cycles, held back while a great many small values are kept."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without_collector() -> Iterator[None]:
    """A study keeps a great many small values and makes no cycles: walking them over and over finds nothing."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            # what is still held goes when its last name does; it need not be walked once more
            gc.freeze()
            gc.enable()
