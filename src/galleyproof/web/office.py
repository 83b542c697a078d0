"""What every request finds: the database, the calculator, the settings, the signing key."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import Annotated

from fastapi import Depends, Request
from sqlalchemy import func, select

from galleyproof.store.database import Database, one_at_a_time
from galleyproof.store.schema import PersonRow, SettingRow
from galleyproof.web.desk import Desk
from galleyproof.web.settings import Settings
from galleyproof.web.work import BETWEEN, Calculator, Kind

__all__ = ["Here", "Office", "office_of", "signing_key"]


@dataclass
class Office:
    """The running app's own things.

    Attributes:
        settings: What it was started with.
        db: The database.
        work: The calculator.
        key: Signs cookies and links.
        desk: The search for what is wired wrongly.
    """

    settings: Settings
    db: Database
    work: Calculator
    key: str
    desk: Desk = field(init=False)
    _accounts: bool = field(default=False)

    def __post_init__(self) -> None:
        self.desk = Desk(processes=self.settings.workers)

    def given(self, kind: Kind, job_id: int, text: str) -> str:
        """What a kind of calculation is asked with: the text, before it the job's address where the kind wants it."""
        return f"{self.settings.address}/jobs/{job_id}{BETWEEN}{text}" if kind.linked else text

    @property
    def accounts(self) -> bool:
        """Whether people sign in here: once there is an account, everybody does."""
        if not self._accounts:
            with self.db.session(reads=True) as session:
                self._accounts = bool(session.scalar(select(func.count()).select_from(PersonRow)))
        return self._accounts


def signing_key(db: Database) -> str:
    """The key of this installation, made once and kept with its data."""
    with db.session() as session:
        one_at_a_time(session)
        row = session.get(SettingRow, "signing key")
        if row is None:
            row = SettingRow(name="signing key", value=secrets.token_hex(32))
            session.add(row)
        return row.value


def office_of(request: Request) -> Office:
    """The office of a request."""
    office = request.app.state.office
    assert isinstance(office, Office)
    return office


Here = Annotated[Office, Depends(office_of)]
"""The office, as a parameter of a page."""
