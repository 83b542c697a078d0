"""``galleyproof accounts``: who may sign in, from the computer that keeps the jobs."""

from __future__ import annotations

import sys
from argparse import Namespace
from contextlib import closing
from getpass import GetPassWarning, getpass
from pathlib import Path
from warnings import catch_warnings, simplefilter

from sqlalchemy.orm import Session

from galleyproof.cli import text
from galleyproof.cli.main import ALL_WELL
from galleyproof.cli.serve import database_url
from galleyproof.errors import GalleyproofError
from galleyproof.store import accounts
from galleyproof.store.accounts import Person
from galleyproof.store.database import Database
from galleyproof.store.people import Role, Who
from galleyproof.store.upgrade import bring_up_to_date
from galleyproof.web.settings import data_folder

WHO = Who("command line", Role.ADMINISTRATOR)
"""As it stands in the log."""
MOST_BYTES = 4096
"""Largest password file. [byte]"""


class AccountsError(GalleyproofError):
    """The command cannot be carried out; says why, and what cures it."""


def run(args: Namespace) -> int:
    """Add, list or change accounts in the database that ``serve`` uses.

    Raises:
        AccountsError: A name or a role is missing, or the password cannot be read.
        StoreError: A rule of accounts forbids it, or the database cannot be used.
    """
    if args.action == "list":
        if args.name is not None:
            raise AccountsError("accounts list takes no name")
    elif args.name is None:
        raise AccountsError(f"accounts {args.action} needs the name: galleyproof accounts {args.action} NAME")
    if (args.role is None) != (args.action not in ("add", "role")):
        need = "needs" if args.role is None else "takes no"
        raise AccountsError(f"accounts {args.action} {need} --role; see galleyproof accounts --help")
    asks = args.action in ("add", "password")
    if args.password_file is not None and not asks:
        raise AccountsError(f"accounts {args.action} takes no --password-file")
    with closing(Database(database_url(Path(args.data) if args.data else data_folder()))) as db:
        bring_up_to_date(db)
        if not asks:
            with db.session() as session:
                _look_or_change(session, args)
            return ALL_WELL
        with db.session() as session:
            _before_asking(session, args)
        password = _password(args.password_file)
        with db.session() as session:
            _set(session, args, password)
    return ALL_WELL


def _look_or_change(session: Session, args: Namespace) -> None:
    if args.action == "list":
        _list(accounts.people(session), as_data=args.json)
        return
    person = _named(session, args.name)
    if args.action == "off":
        accounts.switch_off(session, WHO, person.id)
        print(f"{person.name} may sign in no more; all sign-ins and tokens have ended")
    elif args.action == "on":
        accounts.switch_on(session, WHO, person.id)
        print(f"{person.name} may sign in again")
    else:
        accounts.change_role(session, WHO, person.id, Role(args.role))
        print(f"{person.name} is {args.role} now")


def _before_asking(session: Session, args: Namespace) -> None:
    """Nobody types a password for nothing."""
    if args.action == "password":
        _named(session, args.name)
    elif accounts.find_person(session, args.name) is not None:
        raise AccountsError(f"there is an account of the name {args.name!r} already; choose another name")


def _set(session: Session, args: Namespace, password: str) -> None:
    if args.action == "add":
        made = accounts.add_person(session, WHO, args.name, password, Role(args.role))
        print(f"{made.name} may sign in as {made.role}")
    else:
        person = _named(session, args.name)
        accounts.change_password(session, WHO, person.id, password)
        print(f"{person.name} has a new password; all sign-ins and tokens have ended")


def _named(session: Session, name: str) -> Person:
    found = accounts.find_person(session, name)
    if found is None:
        raise AccountsError(f"there is no account of the name {name!r}; galleyproof accounts list shows all")
    return found[0]


def _list(people: tuple[Person, ...], *, as_data: bool) -> None:
    if as_data:
        rows = [
            {"name": p.name, "role": p.role.value, "active": p.active, "made_at": p.made_at.isoformat()} for p in people
        ]
        print(text.dump({"accounts": rows}), end="")
        return
    if not people:
        print("no accounts: nobody signs in, and serve answers this computer only")
        return
    made = text.table("Name", "Role", "Account", "Since (UTC)")
    for person in people:
        state = "may sign in" if person.active else "switched off"
        made.add_row(person.name, person.role.value, state, f"{person.made_at:%Y-%m-%d}")
    text.show(text.console(), made)


def _password(file: str | None) -> str:
    """The password: from a file, the standard input, or asked for without showing it.

    Raises:
        AccountsError: It cannot be read, or the two that were typed differ.
    """
    if file is not None:
        return _password_in(file)
    if sys.stdin is None or not sys.stdin.isatty():
        raise AccountsError("there is no terminal to ask for the password; give --password-file FILE, or - for stdin")
    try:
        with catch_warnings():
            simplefilter("error", GetPassWarning)  # rather no password than one that is seen
            first = getpass("password: ")
            again = getpass("password again: ")
    except (EOFError, GetPassWarning) as error:
        raise AccountsError("the password cannot be asked for without showing it; give --password-file FILE") from error
    if first != again:
        raise AccountsError("the two passwords differ; nothing was changed, try again")
    return first


def _password_in(file: str) -> str:
    where = "the standard input" if file == "-" else file
    try:
        if file == "-":
            data = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            with Path(file).open("rb") as opened:
                data = opened.read(MOST_BYTES + 1)
        words = data.decode("utf-8").removeprefix("\ufeff")
    except OSError as error:
        raise AccountsError(f"{where} cannot be read ({(error.strerror or str(error)).lower()})") from error
    except UnicodeDecodeError as error:
        raise AccountsError(f"{where} is not UTF-8 text; write the password on its first line") from error
    lines = words.splitlines()
    if len(data) > MOST_BYTES or len(lines) != 1:
        raise AccountsError(f"{where} has {len(lines)} lines; write the password on one line and nothing else")
    return lines[0]
