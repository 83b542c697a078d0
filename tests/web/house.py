"""An office with people of every role, each at a browser of their own, and somebody at a computer without accounts."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from argon2 import PasswordHasher
from starlette.testclient import TestClient
from tests.web.support import Site, make_site

from galleyproof.store import accounts
from galleyproof.store.people import LOCAL, Role, Who
from galleyproof.store.sign_ins import Link, add_link, word_of
from galleyproof.web.work import Answer

PASSWORD = "a lamp beside the stove"
BOSS = Who("Ada Quill", Role.ADMINISTRATOR)
NAMES = {
    "engineer": "Ona Brandt",
    "installer": "Kip Harrow",
    "reviewer": "Lene Voss",
    "administrator": "Ada Quill",
}
CALLERS = ("engineer", "installer", "reviewer", "administrator", "link", "local", "nobody")
"""Everybody who can ask, by what they are."""


class Never:
    """A calculator that is never done: who is let in does not depend on what comes out."""

    def ask(self, kind, text, *, owner=None):
        return Answer("waiting")

    def wait(self, kind, text, seconds, *, owner=None):
        return Answer("waiting")

    def known(self, kind, texts):
        return None

    def close(self):
        pass


@dataclass
class House:
    """Two offices: one with accounts, one without.

    Attributes:
        office: The one where people sign in.
        alone: The one that serves its own computer only.
        clients: A browser for each of ``CALLERS``.
        link: The link that the caller of that name came by; opens the first job.
    """

    office: Site
    alone: Site
    link: Link
    clients: dict[str, TestClient] = field(default_factory=dict)
    _tokens: dict[str, str] = field(default_factory=dict)

    def site(self, caller: str) -> Site:
        """The office a caller asks."""
        return self.alone if caller == "local" else self.office

    def token(self, caller: str) -> str:
        """The token of a caller's forms; it stays until they sign out."""
        if caller not in self._tokens:
            self._tokens[caller] = form_token(self.clients[caller])
        return self._tokens[caller]


def quick_hashes(monkeypatch) -> None:
    """Hash passwords in no time; the real parameters are tested on their own."""
    monkeypatch.setattr(accounts, "HASHER", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    accounts._nobodys.cache_clear()


def form_token(client: TestClient) -> str:
    """The token that forms of a browser carry; any page has it, one that says no too."""
    page = client.get("/people").text
    return page.split('{"x-form-token": "')[1].split('"')[0]


def browser(site: Site) -> TestClient:
    """One more browser at an office."""
    return TestClient(site.client.app, base_url="http://testserver")


def sign_in(client: TestClient, name: str, password: str = PASSWORD, then: str = "/") -> object:
    """Sign in through the page."""
    data = {"form_token": form_token(client), "name": name, "password": password, "then": then}
    return client.post("/sign-in", data=data, follow_redirects=False)


def add_people(site: Site) -> None:
    """An account of each role."""
    with site.db.session() as session:
        for role, name in sorted(NAMES.items()):  # the administrator's comes first, as it must
            accounts.add_person(session, BOSS, name, PASSWORD, Role(role))


def make_house(folder: Path, callers: tuple[str, ...] = CALLERS, example: str = "ferry-cafe") -> House:
    """Both offices with two jobs each, and callers signed in.

    Args:
        folder: Where their databases are.
        callers: Who has a browser; without ``local`` there is one office only.
        example: What their jobs are.
    """
    (folder / "office").mkdir()
    office = alone = make_site(folder / "office")
    if "local" in callers:
        (folder / "alone").mkdir()
        alone = make_site(folder / "alone")
    for site in {id(s): s for s in (office, alone)}.values():
        site.add(example)
        site.add(example)
    add_people(office)
    with office.db.session() as session:
        link = add_link(session, LOCAL, 1, "roof crew", 30)
    house = House(office, alone, link)
    for caller in callers:
        client = house.clients[caller] = browser(house.site(caller))
        if caller in NAMES:
            assert sign_in(client, NAMES[caller]).status_code == 303
        elif caller == "link":
            word = word_of(office.client.app.state.office.key, link)
            data = {"form_token": form_token(client), "name": "Jo Marl"}
            assert client.post(f"/link/{word}", data=data, follow_redirects=False).status_code == 303
    return house
