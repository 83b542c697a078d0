"""An app over a new database, and a client that behaves as a browser does."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

from starlette.testclient import TestClient

from galleyproof.store.database import Database
from galleyproof.store.jobs import add_job
from galleyproof.store.people import LOCAL
from galleyproof.store.schema import Base
from galleyproof.web.app import make_app
from galleyproof.web.settings import Settings

EXAMPLES = Path(__file__).parents[2] / "examples"


@dataclass
class Site:
    """A running app without a network.

    Attributes:
        client: Asks it.
        db: Its database.
    """

    client: TestClient
    db: Database

    def add(self, example: str, name: str = "") -> int:
        """Store an example job, under its file's name or another; gives its number."""
        text = (EXAMPLES / f"{example}.yaml").read_text()
        with self.db.session() as session:
            return add_job(session, LOCAL, text, name or example, "S-1", "A", "as shipped").id

    def token(self) -> str:
        """The token that forms of this client's session carry."""
        page = self.client.get("/jobs").text
        return page.split('{"x-form-token": "')[1].split('"')[0]


def make_site(folder: Path, **given: object) -> Site:
    """A new app; its database is a file in the folder."""
    url = f"sqlite:///{folder / 'office.db'}"
    db = Database(url)
    Base.metadata.create_all(db.engine)
    settings = Settings(database_url=url, workers=False, hosts=("testserver",), **given)  # type: ignore[arg-type]
    return Site(TestClient(make_app(settings, db), base_url="http://testserver"), db)


def with_pages(site: Site, monkeypatch: Any, module: ModuleType) -> Site:
    """The same site, whose answers to a GET have the page of a module that they were made from as ``page``."""
    get = site.client.get

    def looked(*given: Any, **more: Any) -> Any:
        shown: list[Any] = []
        real = module.show
        monkeypatch.setattr(module, "show", lambda *a, **k: shown.append(a[1]) or real(*a, **k))
        answer = get(*given, **more)
        monkeypatch.setattr(module, "show", real)
        answer.page = shown[-1] if shown else None
        return answer

    monkeypatch.setattr(site.client, "get", looked)
    return site
