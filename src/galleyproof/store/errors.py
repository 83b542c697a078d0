"""What can go wrong with stored things.

StoreError
├── NotFoundError     there is no such job, revision, set, person or link
├── ConflictError     somebody else saved in the meantime; carries what they saved
├── RefusedError      a rule of the store forbids it; the message says which
└── UnavailableError  the database cannot be reached, is full, or is locked; nothing was stored
"""

from __future__ import annotations

from galleyproof.errors import GalleyproofError

__all__ = ["ConflictError", "NotFoundError", "RefusedError", "StoreError", "UnavailableError"]


class StoreError(GalleyproofError):
    """Base of every error of the store."""


class NotFoundError(StoreError, LookupError):
    """There is no such thing, or it is not for this person."""


class RefusedError(StoreError, ValueError):
    """A rule of the store forbids it."""


class UnavailableError(StoreError, ConnectionError):
    """The database did not take it; nothing of it was stored."""


class ConflictError(StoreError):
    """Somebody else saved first.

    Attributes:
        theirs: The text that stands now.
        number: Its number among the saves of the job.
        by: Who saved it.
    """

    def __init__(self, theirs: str, number: int, by: str) -> None:
        self.theirs, self.number, self.by = theirs, number, by
        super().__init__(f"{by} saved first (save {number}); look at both, then save again")
