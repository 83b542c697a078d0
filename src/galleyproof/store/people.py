"""Who may do what: roles and rights."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["LOCAL", "RIGHTS", "Right", "Role", "Who"]


class Right(StrEnum):
    """What a person may be allowed to do."""

    SITE = "site"
    """See a job's drawings, check-out sheet and diagnosis."""
    MEASURE = "measure"
    """Enter readings and sign the check-out."""
    READ = "read"
    """See everything of every job."""
    EDIT = "edit"
    """Change jobs."""
    COMMENT = "comment"
    """Say something about a revision."""
    ISSUE = "issue"
    """Issue sets and make links for installers."""
    PEOPLE = "people"
    """Manage accounts, read the audit log."""
    ACCOUNT = "account"
    """Have a password and tokens of their own."""


class Role(StrEnum):
    """Roles of accounts; ``local`` is the one person at this computer, ``link`` who came by an installer's link."""

    ENGINEER = "engineer"
    INSTALLER = "installer"
    REVIEWER = "reviewer"
    ADMINISTRATOR = "administrator"
    LOCAL = "local"
    LINK = "link"


RIGHTS: dict[Role, frozenset[Right]] = {
    Role.ENGINEER: frozenset(Right) - {Right.PEOPLE},
    Role.INSTALLER: frozenset({Right.SITE, Right.MEASURE, Right.ACCOUNT}),
    Role.REVIEWER: frozenset({Right.SITE, Right.READ, Right.COMMENT, Right.ACCOUNT}),
    Role.ADMINISTRATOR: frozenset(Right),
    Role.LOCAL: frozenset(Right) - {Right.PEOPLE, Right.ACCOUNT},
    Role.LINK: frozenset({Right.SITE, Right.MEASURE}),
}


@dataclass(frozen=True, slots=True)
class Who:
    """Somebody who asks.

    Attributes:
        name: As it stands in logs.
        role: Their role.
        person_id: Their account; None without one.
        job_id: The only job they may see; None for all.
    """

    name: str
    role: Role
    person_id: int | None = None
    job_id: int | None = None

    def may(self, right: Right, job_id: int | None = None) -> bool:
        """Whether they may do it, with the job it is about."""
        inside = self.job_id is None or job_id == self.job_id
        return inside and right in RIGHTS[self.role]


LOCAL = Who("this computer", Role.LOCAL)
"""Who sits at the computer that serves itself only and has no accounts."""
