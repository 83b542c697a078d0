"""Accounts: who has one, with which role and password; and the tokens of programs.

A password is kept as its Argon2id hash. Whatever ends a person's sign-ins (a new password, an account switched off)
makes their epoch grow; what was begun in an earlier epoch is over.
"""

from __future__ import annotations

import secrets
import threading
import unicodedata
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from hashlib import sha256

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from galleyproof.store.database import now
from galleyproof.store.errors import NotFoundError, RefusedError
from galleyproof.store.jobs import note
from galleyproof.store.people import Role, Who
from galleyproof.store.schema import PersonRow, TokenRow

__all__ = [
    "ROLES",
    "Person",
    "Token",
    "add_person",
    "add_token",
    "change_password",
    "change_role",
    "find_person",
    "fits",
    "hash_of",
    "known_name",
    "people",
    "person_of",
    "revoke_token",
    "switch_off",
    "switch_on",
    "token_owner",
    "token_used",
    "tokens_of",
]

ROLES = (Role.ENGINEER, Role.INSTALLER, Role.REVIEWER, Role.ADMINISTRATOR)
"""Roles an account can have."""

MIN_PASSWORD, MAX_PASSWORD = 10, 200
"""Length of a password. [character]"""
MAX_NAME, MAX_LABEL = 60, 80
"""Length of a person's name, and of what a token is called. [character]"""
MAX_TOKENS = 50
"""Tokens in use of one person. [-]"""
USED_S = 60
"""How exactly the last use of a token is known. [s]"""
TOKEN_MARK = "gp_"
"""How every token begins, so that one left lying about is known for what it is."""

HASHER = PasswordHasher()
"""Argon2id with the parameters of RFC 9106, section 4, second choice (64 MiB, 3 passes)."""
_few = threading.BoundedSemaphore(2)
"""Each hash takes 64 MiB: never more than two at once."""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody with an account.

    Attributes:
        id: Number of the account.
        name: What they sign in with, and how they stand in logs.
        role: What they may do.
        active: Whether they may sign in.
        epoch: Grows when all their sign-ins end. [-]
        made_at: When the account was made.
    """

    id: int
    name: str
    role: Role
    active: bool
    epoch: int
    made_at: datetime

    @property
    def who(self) -> Who:
        """The person as somebody who asks."""
        return Who(self.name, self.role, person_id=self.id)


@dataclass(frozen=True, slots=True)
class Token:
    """A token of a person; the token itself is not kept."""

    id: int
    label: str
    made_at: datetime
    used_at: datetime | None
    revoked_at: datetime | None


# --- words that are typed -------------------------------------------------------------------------------------------


def one_line(text: str, what: str, at_most: int) -> str:
    """A name or label as it is kept: composed, trimmed, no control characters.

    Raises:
        RefusedError: Empty, too long, or not plain text.
    """
    plain = " ".join(unicodedata.normalize("NFC", text).split())
    if not plain:
        raise RefusedError(f"{what} is empty; type one")
    if len(plain) > at_most:
        raise RefusedError(f"{what} has {len(plain)} characters; at most {at_most} fit")
    if any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Cn") for c in plain):
        raise RefusedError(f"{what} holds a character that cannot be seen; use plain text on one line")
    return plain


def known_name(name: str) -> str:
    """A name as it is compared: letters alike whether large or small."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def _good_password(password: str, name: str) -> None:
    if known_name(password) == known_name(name):
        raise RefusedError("the password is the name; use another one")
    if len(password) < MIN_PASSWORD:
        raise RefusedError(f"the password has {len(password)} characters; use at least {MIN_PASSWORD}, words will do")
    if len(password) > MAX_PASSWORD:
        raise RefusedError(f"the password has {len(password)} characters; use at most {MAX_PASSWORD}")
    if len(set(password)) < 3:
        raise RefusedError("the password is the same character again and again; use another one")


# --- passwords ------------------------------------------------------------------------------------------------------


def hash_of(password: str) -> str:
    """What is kept of a password."""
    with _few:
        return HASHER.hash(_same_on_every_keyboard(password))


def fits(password: str, kept: str | None) -> bool:
    """Whether a password is the one of a hash; takes as long when there is none to compare with."""
    try:
        with _few:
            HASHER.verify(_nobodys() if kept is None else kept, _same_on_every_keyboard(password[:1000]))
    except (Argon2Error, InvalidHashError):
        return False
    return kept is not None


def _same_on_every_keyboard(password: str) -> bytes:
    return unicodedata.normalize("NFKC", password).encode("utf-8", "surrogatepass")


@cache
def _nobodys() -> str:
    return HASHER.hash(secrets.token_bytes(32))


# --- people ---------------------------------------------------------------------------------------------------------


def people(session: Session) -> tuple[Person, ...]:
    """Everybody with an account, those who may sign in first, by name."""
    rows = session.scalars(select(PersonRow)).all()
    return tuple(sorted(map(_person, rows), key=lambda p: (not p.active, known_name(p.name))))


def person_of(session: Session, person_id: int) -> Person:
    """One person.

    Raises:
        NotFoundError: There is no such account.
    """
    return _person(_row(session, person_id))


def find_person(session: Session, name: str) -> tuple[Person, str] | None:
    """The person of a name with the hash of their password; large and small letters are alike."""
    wanted = known_name(name)
    for row in session.scalars(select(PersonRow)):
        if known_name(row.name) == wanted:
            return _person(row), row.password
    return None


def add_person(session: Session, who: Who, name: str, password: str, role: Role) -> Person:
    """Give somebody an account.

    Args:
        session: A transaction.
        who: Who gives it.
        name: What they sign in with.
        password: Their first password.
        role: What they may do; the very first account is an administrator's.

    Raises:
        RefusedError: The name is taken, the password is too weak, or nobody would be administrator.
    """
    plain = one_line(name, "the name", MAX_NAME)
    _good_password(password, plain)
    if role not in ROLES:
        raise RefusedError(f"{role} is no role of an account; choose one of {', '.join(ROLES)}")
    if find_person(session, plain) is not None:
        raise RefusedError(f"there is an account of the name {plain!r} already; choose another name")
    if role is not Role.ADMINISTRATOR and not _administrators(session):
        raise RefusedError("the first account must be an administrator's, who then adds the others")
    row = PersonRow(name=plain, password=hash_of(password), role=role.value, active=True, epoch=0, made_at=now())
    session.add(row)
    session.flush()
    note(session, who, "added an account", None, person=plain, role=role.value)
    return _person(row)


def change_password(session: Session, who: Who, person_id: int, password: str) -> Person:
    """Give an account a new password; all its sign-ins and tokens of programs end.

    Raises:
        NotFoundError: There is no such account.
        RefusedError: The password is too weak.
    """
    row = _row(session, person_id)
    _good_password(password, row.name)
    row.password, row.epoch = hash_of(password), row.epoch + 1
    ended = _end_tokens(session, row.id)
    note(session, who, "changed a password", None, person=row.name, tokens_ended=ended)
    return _person(row)


def change_role(session: Session, who: Who, person_id: int, role: Role) -> Person:
    """Give an account another role.

    Raises:
        NotFoundError: There is no such account.
        RefusedError: Nobody would be administrator any more.
    """
    row = _row(session, person_id)
    if role not in ROLES:
        raise RefusedError(f"{role} is no role of an account; choose one of {', '.join(ROLES)}")
    if role is not Role.ADMINISTRATOR:
        _leaves_an_administrator(session, row)
    note(session, who, "changed a role", None, person=row.name, before=row.role, role=role.value)
    row.role = role.value
    return _person(row)


def switch_off(session: Session, who: Who, person_id: int) -> Person:
    """Let somebody in no more; their name stays in the logs, their sign-ins and tokens end.

    Raises:
        NotFoundError: There is no such account.
        RefusedError: Nobody would be administrator any more.
    """
    row = _row(session, person_id)
    _leaves_an_administrator(session, row)
    row.active, row.epoch = False, row.epoch + 1
    ended = _end_tokens(session, row.id)
    note(session, who, "switched an account off", None, person=row.name, tokens_ended=ended)
    return _person(row)


def switch_on(session: Session, who: Who, person_id: int) -> Person:
    """Let somebody in again; earlier sign-ins and tokens stay ended.

    Raises:
        NotFoundError: There is no such account.
    """
    row = _row(session, person_id)
    row.active = True
    note(session, who, "switched an account on", None, person=row.name)
    return _person(row)


def _administrators(session: Session) -> int:
    asked = select(func.count()).select_from(PersonRow)
    return session.scalar(asked.where(PersonRow.role == Role.ADMINISTRATOR.value, PersonRow.active)) or 0


def _leaves_an_administrator(session: Session, row: PersonRow) -> None:
    # the rows are held, so that two administrators cannot switch each other off at the same moment
    held = session.scalars(
        select(PersonRow)
        .where(PersonRow.role == Role.ADMINISTRATOR.value, PersonRow.active)
        .order_by(PersonRow.id)
        .with_for_update()
    ).all()
    if row.active and row.role == Role.ADMINISTRATOR.value and len(held) < 2:
        raise RefusedError(f"{row.name} is the only administrator; make somebody else one first")


def _row(session: Session, person_id: int) -> PersonRow:
    row = session.get(PersonRow, person_id)
    if row is None:
        raise NotFoundError(f"there is no account {person_id} here; look in the list of people")
    return row


def _person(row: PersonRow) -> Person:
    return Person(row.id, row.name, Role(row.role), row.active, row.epoch, row.made_at)


# --- tokens ---------------------------------------------------------------------------------------------------------


def tokens_of(session: Session, person_id: int) -> tuple[Token, ...]:
    """Tokens of a person, the newest first."""
    rows = session.scalars(select(TokenRow).where(TokenRow.person_id == person_id).order_by(TokenRow.id.desc()))
    return tuple(Token(r.id, r.label, r.made_at, r.used_at, r.revoked_at) for r in rows)


def add_token(session: Session, who: Who, label: str) -> str:
    """Make a token with which a program acts as its owner.

    Returns:
        The token; only its hash is kept, so it is shown once.

    Raises:
        RefusedError: It has no label, its owner no account, or too many tokens.
    """
    if who.person_id is None:
        raise RefusedError("tokens belong to accounts; there is none here")
    plain = one_line(label, "what the token is for", MAX_LABEL)
    if sum(t.revoked_at is None for t in tokens_of(session, who.person_id)) >= MAX_TOKENS:
        raise RefusedError(f"there are {MAX_TOKENS} tokens in use already; revoke one first")
    token = TOKEN_MARK + secrets.token_urlsafe(32)
    session.add(TokenRow(person_id=who.person_id, label=plain, sha256=_hashed(token), made_at=now()))
    note(session, who, "made a token", None, label=plain)
    return token


def revoke_token(session: Session, who: Who, token_id: int) -> None:
    """End a token of one's own.

    Raises:
        NotFoundError: There is no such token of this person.
    """
    row = session.get(TokenRow, token_id)
    if row is None or row.person_id != who.person_id:
        raise NotFoundError(f"you have no token {token_id}; look at your account")
    if row.revoked_at is None:
        row.revoked_at = now()
        note(session, who, "revoked a token", None, label=row.label)


def token_owner(session: Session, token: str) -> tuple[Person, bool] | None:
    """Whose token it is, and whether its use should be noted again.

    Args:
        session: A transaction; only read.
        token: As sent.

    Returns:
        None when it was never made, was revoked, or its owner may not sign in.
    """
    row = session.scalar(select(TokenRow).where(TokenRow.sha256 == _hashed(token)))
    if row is None or row.revoked_at is not None:
        return None
    person = person_of(session, row.person_id)
    if not person.active:
        return None
    return person, row.used_at is None or abs((now() - row.used_at).total_seconds()) > USED_S


def token_used(session: Session, token: str) -> None:
    """Note that a token is in use."""
    row = session.scalar(select(TokenRow).where(TokenRow.sha256 == _hashed(token)))
    if row is not None:
        row.used_at = now()


def _end_tokens(session: Session, person_id: int) -> int:
    rows = session.scalars(select(TokenRow).where(TokenRow.person_id == person_id, TokenRow.revoked_at.is_(None))).all()
    for row in rows:
        row.revoked_at = now()
    return len(rows)


def _hashed(token: str) -> str:
    return sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
