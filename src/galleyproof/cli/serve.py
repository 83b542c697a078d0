"""``galleyproof serve``: the app on this computer, in its browser."""

from __future__ import annotations

import logging
import os
import socket
import sys
import threading
import webbrowser
from argparse import Namespace
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import TYPE_CHECKING

from galleyproof.cli.main import ALL_WELL
from galleyproof.errors import GalleyproofError
from galleyproof.web.settings import Settings, data_folder

if TYPE_CHECKING:
    from galleyproof.store.database import Database

URL = "GALLEYPROOF_DATABASE_URL"
PORT, FURTHER = 8440, 20
"""The usual port, and how many after it are tried when it is taken. [-]"""
PATIENCE_S = 3
"""How long requests may go on after Ctrl-C. [s]"""


class ServeError(GalleyproofError):
    """The app cannot be started; says why, and what cures it."""


def run(args: Namespace) -> int:
    """Serve until Ctrl-C.

    Raises:
        ServeError: The address cannot be listened on, or the folder not used.
        StoreError: The database cannot be used.
    """
    folder = Path(args.data) if args.data else data_folder()
    url = database_url(folder)
    sock = listen(args.host, args.port)
    try:
        return _serve(args, folder, url, sock)
    finally:
        sock.close()


def database_url(folder: Path) -> str:
    """Where the jobs are: as the environment says, or a file in the folder, which is made.

    Raises:
        ServeError: The folder cannot be made or written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise ServeError(
            f"the folder {folder} cannot be made ({(error.strerror or str(error)).lower()}); "
            "name another one with --data DIR"
        ) from error
    if not os.access(folder, os.W_OK | os.X_OK):
        raise ServeError(f"the folder {folder} may not be written; name another one with --data DIR")
    return os.environ.get(URL) or f"sqlite:///{folder / 'jobs.db'}"


def listen(host: str, port: int | None) -> socket.socket:
    """A listening socket; with no port asked for, on the usual one or the first free one after it.

    Raises:
        ServeError: There is no such address here, or the port is taken.
    """
    wanted = (port,) if port is not None else range(PORT, PORT + FURTHER + 1)
    for one in wanted:
        try:
            family, kind, proto, _, address = socket.getaddrinfo(host, one, type=socket.SOCK_STREAM)[0]
            sock = socket.socket(family, kind, proto)
        except OSError as error:
            raise ServeError(f"--host {host}: no such address ({error.strerror}); give one of this computer") from error
        try:
            if os.name == "posix":
                sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            sock.bind(address)
            sock.listen(128)
        except PermissionError as error:
            sock.close()
            raise ServeError(f"--port {one}: this user may not listen there; give a port from 1024 on") from error
        except OSError as error:
            sock.close()
            if getattr(error, "errno", None) == 99:  # not an address of this computer
                raise ServeError(f"--host {host}: this computer has no such address; give one of its own") from error
            continue
        return sock
    if port is not None:
        raise ServeError(
            f"--port {port} is taken: another program, or another galleyproof serve, listens there; "
            "stop it, give another port, or leave --port out to take the next free one"
        )
    raise ServeError(f"the ports {PORT} to {PORT + FURTHER} are all taken; give a free one with --port")


def _serve(args: Namespace, folder: Path, url: str, sock: socket.socket) -> int:
    # all of this is loaded only here, so that no other command waits for it
    import uvicorn

    from galleyproof.store.database import Database
    from galleyproof.store.upgrade import bring_up_to_date
    from galleyproof.web.example import add_example

    port = sock.getsockname()[1]
    settings = Settings(
        database_url=url, host=args.host, port=port, hosts=tuple(args.name or ()), secure=args.behind_https
    )
    db = Database(url)
    done = bring_up_to_date(db)
    add_example(db)
    if not settings.loopback:
        _refuse_without_accounts(db, args.host)

    from galleyproof.web.app import make_app

    app = make_app(settings, db)
    _write_log(folder)
    shown = f"[{args.host}]" if ":" in args.host else args.host
    address = f"http://{'127.0.0.1' if shown == '0.0.0.0' else shown}:{port}/"

    class Server(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            _say_where(args, address, port, url, done.before, done.after)

    server = Server(
        uvicorn.Config(
            app,
            log_config=None,
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=PATIENCE_S,
            proxy_headers=args.behind_https,
        )
    )
    try:
        server.run(sockets=[sock])
    except KeyboardInterrupt:
        print("\ngalleyproof: stopped", file=sys.stderr)
    return ALL_WELL


def _refuse_without_accounts(db: Database, host: str) -> None:
    from sqlalchemy import select

    from galleyproof.store.schema import PersonRow

    with db.session(reads=True) as session:
        if session.scalar(select(PersonRow.id).limit(1)) is not None:
            return
    raise ServeError(
        f"--host {host} lets other computers in, and there are no accounts yet: everybody could change every job; "
        "make the first one with galleyproof accounts add NAME --role administrator, then start again"
    )


def _say_where(args: Namespace, address: str, port: int, url: str, before: str | None, after: str) -> None:
    where = "PostgreSQL" if url.startswith("postgres") else url.removeprefix("sqlite:///")
    if args.port is None and port != PORT:
        print(f"galleyproof: port {PORT} is taken; using {port}")
    if before is not None and before != after:
        print(f"galleyproof: the database was brought forward from schema {before} to {after}")
    print(f"galleyproof: {address}  (jobs: {where}; Ctrl-C stops it)")
    sys.stdout.flush()
    if not args.no_browser:
        threading.Thread(target=_open, args=(address,), daemon=True, name="galleyproof-browser").start()


def _open(address: str) -> None:
    try:
        opened = webbrowser.open(address)
    except (webbrowser.Error, OSError):
        opened = False
    if not opened:
        print(f"galleyproof: no browser could be opened; open {address} by hand", file=sys.stderr)


def _write_log(folder: Path) -> None:
    """What went wrong in full goes to a file; the terminal gets one line."""
    root = logging.getLogger()
    try:
        full = RotatingFileHandler(folder / "server.log", maxBytes=1_000_000, backupCount=2, encoding="utf-8")
    except OSError as error:
        raise ServeError(f"{folder / 'server.log'} cannot be written ({(error.strerror or '').lower()})") from error
    full.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s %(message)s"))
    full.setLevel(logging.WARNING)
    root.addHandler(full)
    brief = logging.StreamHandler()
    brief.setFormatter(_Brief(f"galleyproof: %(message)s; see {folder / 'server.log'}"))
    brief.setLevel(logging.ERROR)
    root.addHandler(brief)


class _Brief(logging.Formatter):
    """One line, without what led there."""

    def formatException(self, ei: object) -> str:  # noqa: N802  the standard library's name
        return ""

    def format(self, record: logging.LogRecord) -> str:
        short = logging.makeLogRecord({**record.__dict__, "exc_info": None, "exc_text": None, "stack_info": None})
        return " ".join(super().format(short).split())
