"""Who may do what: one row for every route of the app, and what a call that succeeds sends.

This table is kept by hand and knows nothing of the app's own rules: a new route without a row here fails
``test_access.py``, and a route that lets in somebody else than its row says fails too.

To add a route: put ``"METHOD /path/{job}"`` with one of the groups below into ``RULES``; when it is not a GET, put what
a call that succeeds sends into ``SENDS`` (``test_access.py`` then holds it to leave a line in the log).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.web.support import EXAMPLES, Site

EVERYBODY = frozenset({"engineer", "installer", "reviewer", "administrator", "link", "local", "nobody"})
SITE = EVERYBODY - {"nobody"}
"""Who may see a job's drawings, check-out and diagnosis; a link its own job's only."""
MEASURE = SITE - {"reviewer"}
READ = frozenset({"engineer", "reviewer", "administrator", "local"})
COMMENT = READ
EDIT = frozenset({"engineer", "administrator", "local"})
ISSUE = EDIT
OWNERS = frozenset({"engineer", "installer", "reviewer", "administrator"})
"""Who has an account."""
ADMINISTRATORS = frozenset({"administrator"})

RULES: dict[str, frozenset[str]] = {
    # signing in, and the first page
    "GET /": EVERYBODY - {"nobody"},
    "GET /sign-in": EVERYBODY,
    "POST /sign-in": EVERYBODY,
    "POST /sign-out": EVERYBODY,
    "GET /link/{word}": EVERYBODY,
    "POST /link/{word}": EVERYBODY,
    # one's own account
    "GET /account": OWNERS,
    "POST /account/password": OWNERS,
    "POST /account/sign-out-everywhere": OWNERS,
    "POST /account/tokens": OWNERS,
    "POST /account/tokens/{token}/revoke": OWNERS,
    # people and the log
    "GET /people": ADMINISTRATORS,
    "POST /people": ADMINISTRATORS,
    "POST /people/{person}/role": ADMINISTRATORS,
    "POST /people/{person}/password": ADMINISTRATORS,
    "POST /people/{person}/off": ADMINISTRATORS,
    "POST /people/{person}/on": ADMINISTRATORS,
    "GET /log": ADMINISTRATORS,
    # jobs
    "GET /jobs": SITE,
    "GET /jobs/{job}": SITE,
    "GET /jobs/{job}/progress/{kind}": SITE,
    "GET /jobs/{job}/line-up": READ,
    "GET /jobs/{job}/line-up/{section}": READ,
    "GET /jobs/{job}/line-up/{section}/body": READ,
    "POST /jobs/{job}/line-up-cell": EDIT,
    "POST /jobs/{job}/line-up-paste": EDIT,
    "POST /jobs/{job}/line-up-add": EDIT,
    "POST /jobs/{job}/line-up-remove": EDIT,
    "POST /jobs/{job}/line-up-rename": EDIT,
    "POST /jobs/{job}/line-up-back": EDIT,
    "POST /jobs/{job}/line-up-again": EDIT,
    "GET /jobs/{job}/text": READ,
    "POST /jobs/{job}/text": EDIT,
    "POST /jobs/{job}/merge": EDIT,
    "GET /jobs/{job}/drawings": SITE,
    "GET /jobs/{job}/w/{wire}": SITE,
    "GET /jobs/{job}/sheets/{number}": SITE,
    "GET /jobs/{job}/live": SITE,
    "GET /jobs/{job}/live/index": SITE,
    "GET /jobs/{job}/live/wire/{number}": SITE,
    "GET /jobs/{job}/live/what-if/{number}": SITE,
    "GET /jobs/{job}/live/slip": SITE,
    "GET /jobs/{job}/live/device": SITE,
    # jobs begun, brought in, handed out
    "GET /new-job": EDIT,
    "POST /new-job": EDIT,
    "POST /jobs/{job}/copy": EDIT,
    "POST /jobs/{job}/archive": EDIT,
    "GET /import": EDIT,
    "POST /import": EDIT,
    "GET /import/{upload}": EDIT,
    "POST /import/{upload}": EDIT,
    "GET /jobs/{job}/export.yaml": READ,
    "GET /jobs/{job}/export.xlsx": READ,
    # air, sizing, savings
    "GET /jobs/{job}/air": READ,
    "GET /jobs/{job}/sizing": READ,
    "GET /jobs/{job}/sizing/why": READ,
    "GET /jobs/{job}/savings": READ,
    "POST /jobs/{job}/savings": EDIT,
    "GET /jobs/{job}/findings": READ,
    "GET /jobs/{job}/findings-line": READ,
    "GET /jobs/{job}/cures": READ,
    "POST /jobs/{job}/cures": EDIT,
    # check-out and diagnosis
    "GET /jobs/{job}/check-out": SITE,
    "GET /jobs/{job}/check-out/plan": SITE,
    "GET /jobs/{job}/check-out/state": SITE,
    "GET /jobs/{job}/check-out/probe": SITE,
    "GET /jobs/{job}/check-out/causes": SITE,
    "GET /jobs/{job}/check-out/log": SITE,
    "GET /jobs/{job}/check-out/record": SITE,
    "GET /jobs/{job}/check-out/field-sheet": SITE,
    "GET /jobs/{job}/check-out/field-sheet/file": SITE,
    "POST /jobs/{job}/check-out/entries": MEASURE,
    "GET /jobs/{job}/check-out/take-in": MEASURE,
    "POST /jobs/{job}/check-out/take-in": MEASURE,
    "GET /jobs/{job}/diagnosis": SITE,
    "POST /jobs/{job}/diagnosis/call": SITE,
    "POST /jobs/{job}/diagnosis/notice": MEASURE,
    "POST /jobs/{job}/diagnosis/take-back": MEASURE,
    "POST /jobs/{job}/diagnosis/write": MEASURE,
    # revisions and issued sets
    "GET /jobs/{job}/revisions": READ,
    "GET /jobs/{job}/difference/{old}/{new}": READ,
    "GET /jobs/{job}/difference/{old}/{new}/{name}": READ,
    "POST /jobs/{job}/revisions/{save}/restore": EDIT,
    "POST /jobs/{job}/revisions/{save}/remarks": COMMENT,
    "GET /jobs/{job}/issued": SITE,
    "POST /jobs/{job}/issued": ISSUE,
    "GET /jobs/{job}/prepared/package.pdf": ISSUE,
    "GET /jobs/{job}/draft.zip": READ,
    "GET /jobs/{job}/issued/{issued}/package.pdf": SITE,
    "GET /jobs/{job}/issued/{issued}/set.zip": SITE,
    "GET /jobs/{job}/issued/{issued}/verify": SITE,
    # the interface for programs
    "GET /api": SITE - {"link"},
    "GET /api/v1/openapi.json": EVERYBODY,
    "GET /api/v1/jobs": SITE,
    "POST /api/v1/jobs": EDIT,
    "GET /api/v1/jobs/{job}": READ,
    "PUT /api/v1/jobs/{job}": EDIT,
    "PUT /api/v1/jobs/{job}/archived": EDIT,
    "GET /api/v1/jobs/{job}/saves": READ,
    "GET /api/v1/jobs/{job}/saves/{number}": READ,
    "GET /api/v1/jobs/{job}/summary": READ,
    "GET /api/v1/jobs/{job}/conductors": READ,
    "GET /api/v1/jobs/{job}/sheets": SITE,
    "GET /api/v1/jobs/{job}/sheets/{sheet}": SITE,
    "POST /api/v1/jobs/{job}/package": EDIT,
    "GET /api/v1/jobs/{job}/package": READ,
    "GET /api/v1/jobs/{job}/check-out": SITE,
    "GET /api/v1/jobs/{job}/readings": SITE,
    "POST /api/v1/jobs/{job}/readings": MEASURE,
    "GET /api/v1/jobs/{job}/diagnosis": SITE,
    # sequence and slips
    "GET /jobs/{job}/sequence": READ,
    "POST /jobs/{job}/promises": EDIT,
    "POST /jobs/{job}/promises/remove": EDIT,
    "GET /jobs/{job}/slips": READ,
    "GET /jobs/{job}/slips/changes": READ,
    # links for installers
    "GET /jobs/{job}/links": ISSUE,
    "POST /jobs/{job}/links": ISSUE,
    "POST /jobs/{job}/links/{link}/revoke": ISSUE,
}
"""Whom each route lets in. Who came by a link is besides kept out of every other job, and of every route without a job
in its path and does not let everybody in."""

Sent = dict[str, Any]
"""What a call sends: ``data``, ``json``, ``files``, ``headers``; ``path`` fills the places of the route's path."""

GOOD = "another lamp beside the stove"


def cafe() -> str:
    """A job's text."""
    return (EXAMPLES / "ferry-cafe.yaml").read_text()


def entry(text: str, n: int = 1, **given: object) -> dict[str, Any]:
    """A reading of a tablet."""
    from galleyproof.checkout.log import fingerprint

    made = {
        "id": f"{n:032x}",
        "job": fingerprint(text),
        "job_name": "cafe",
        "probe": "note",
        "read": "panel is wet",
        "taken_at": "2026-11-25T14:05:09+01:00",
        "sequence": n,
        "device": "a" * 32,
        "by": "Jo Marl",
    }
    return {**made, **given}


def _log(_site: Site) -> Sent:
    from galleyproof.checkout.log import Entry, write_log

    log = write_log([Entry.model_validate(entry(cafe()))])
    return {"files": {"file": ("log.json", log, "application/json")}}


def _take_back(site: Site) -> Sent:
    from galleyproof.checkout.log import Entry
    from galleyproof.store.people import LOCAL
    from galleyproof.store.readings import add_readings

    with site.db.session() as session:
        add_readings(session, LOCAL, 1, [Entry.model_validate(entry(cafe()))])
    return {"data": {"entry": entry(cafe())["id"]}}


def _write(_site: Site) -> Sent:
    from galleyproof.web.call import Taken, written

    return {"data": {"taken": written(Taken("", "EF-1 does not run")), "told_by": "Jo Marl"}}


def _saved(site: Site, text: str) -> int:
    """Save a text over what stands; gives the number of the save."""
    from galleyproof.store.jobs import save_job, save_of
    from galleyproof.store.people import LOCAL

    with site.db.session() as session:
        return save_job(session, LOCAL, 1, text, save_of(session, 1).number, "cafe", "1", "A", "changed")


def _back(site: Site) -> Sent:
    return {"json": {"based_on": _saved(site, cafe().replace("name: ", "name: New ", 1))}}


def _again(site: Site) -> Sent:
    from galleyproof.store.people import LOCAL
    from galleyproof.web.lineup.saving import step

    save = _back(site)["json"]["based_on"]
    return {"json": {"based_on": step(site.client.app.state.office, LOCAL, 1, save, forth=False)}}  # type: ignore[attr-defined]


def _cures(site: Site) -> Sent:
    return {"data": {"based_on": _saved(site, (EXAMPLES / "wrong" / "two-masters.yaml").read_text())}}


def _upload(site: Site) -> Sent:
    from galleyproof.store.accounts import find_person
    from galleyproof.store.attachments import keep_upload

    with site.db.session() as session:
        found = find_person(session, "Ada Quill")
        assert found is not None
        number = keep_upload(session, found[0].who, "hoods.csv", b"Tag,Length\nH-7,8 ft\n")
    columns = {"s0-kind": "hoods", "s0-was-kind": "hoods", "s0-head": "1", "s0-was-head": "1"}
    fields = {**columns, "s0-c0": "tag", "s0-c1": "length", "name": "n", "number": "1", "do": "import"}
    return {"path": {"upload": number}, "data": fields}


def _weather(_site: Site) -> Sent:
    return {"files": {"file": ("w.csv", (EXAMPLES / "weather" / "greensboro-tmy3.csv").read_bytes())}}


def _merge(site: Site) -> Sent:
    theirs = _saved(site, cafe().replace("name: ", "name: New ", 1))
    mine = cafe().replace("name: ", "name: Other ", 1)
    return {"data": {"mine": mine, "based_on": "1", "theirs": str(theirs), "row-0": "mine"}}


def _token(site: Site) -> Sent:
    from galleyproof.store.accounts import add_token, find_person, tokens_of

    with site.db.session() as session:
        found = find_person(session, "Ada Quill")
        assert found is not None
        add_token(session, found[0].who, "orders")
        session.flush()
        return {"path": {"token": tokens_of(session, found[0].id)[0].id}}


def _person(site: Site) -> int:
    from galleyproof.store.accounts import find_person

    with site.db.session() as session:
        found = find_person(session, "Kip Harrow")
        assert found is not None
        return found[0].id


def _word(site: Site) -> str:
    from galleyproof.store.sign_ins import link_of, word_of

    with site.db.session() as session:
        return word_of(site.client.app.state.office.key, link_of(session, 1))  # type: ignore[attr-defined]


OWN_ROW = {
    "based_on": "1",
    "say": "the hood exhausts in fire",
    "when": "fire Z1: released",
    "device": "EF-1",
    "effect": "runs",
}
"""A row that the cafe keeps."""


def _row_to_remove(site: Site) -> Sent:
    row = "promises:\n  - say: the hood exhausts in fire\n    when: {fire Z1: released}\n    expect: {EF-1: runs}\n"
    return {"data": {"based_on": _saved(site, cafe() + row), "row": "0"}}


def _restore(site: Site) -> Sent:
    based_on = _saved(site, cafe() + "\n# more\n")
    return {"path": {"save": 1}, "data": {"based_on": str(based_on)}}


class _Prepared:
    """A calculator with a set that is ready."""

    def __init__(self, made: object) -> None:
        self.made = made

    def known(self, _kind: object, _texts: object) -> object:
        from galleyproof.web.work import Answer

        return 0, Answer("done", self.made)


def _issue(site: Site) -> Sent:
    from tests.store.support import package

    from galleyproof.web.issuing import Ready

    made = Ready({**package(), "job.yaml": b"galleyproof: 1\n"}, "A")
    site.client.app.state.office.work = _Prepared(made)  # type: ignore[attr-defined]
    return {"data": {"based_on": "1", "sha256": made.sha256}}


SENDS: dict[str, Callable[[Site], Sent]] = {
    "POST /sign-in": lambda _: {"data": {"name": "Ada Quill", "password": "a lamp beside the stove"}},
    "POST /sign-out": lambda _: {},
    "POST /link/{word}": lambda site: {"path": {"word": _word(site)}, "data": {"name": "Jo Marl"}},
    "POST /account/password": lambda _: {"data": {"old": "a lamp beside the stove", "new": GOOD, "again": GOOD}},
    "POST /account/sign-out-everywhere": lambda _: {},
    "POST /account/tokens": lambda _: {"data": {"label": "orders"}},
    "POST /account/tokens/{token}/revoke": _token,
    "POST /people": lambda _: {"data": {"name": "New One", "password": GOOD, "role": "engineer"}},
    "POST /people/{person}/role": lambda site: {"path": {"person": _person(site)}, "data": {"role": "engineer"}},
    "POST /people/{person}/password": lambda site: {"path": {"person": _person(site)}, "data": {"password": GOOD}},
    "POST /people/{person}/off": lambda site: {"path": {"person": _person(site)}},
    "POST /people/{person}/on": lambda site: {"path": {"person": _person(site)}},
    "POST /jobs/{job}/line-up-cell": lambda _: {"json": {"based_on": 1, "path": "job.name", "value": "New"}},
    "POST /jobs/{job}/line-up-paste": lambda _: {"json": {"based_on": 1, "cells": [["job.name", "New"]]}},
    "POST /jobs/{job}/line-up-add": lambda _: {"json": {"based_on": 1, "path": "hoods"}},
    "POST /jobs/{job}/line-up-remove": lambda _: {"json": {"based_on": 1, "path": "hoods.0", "sure": True}},
    "POST /jobs/{job}/line-up-rename": lambda _: {"json": {"based_on": 1, "old": "EF-1", "new": "EF-9"}},
    "POST /jobs/{job}/line-up-back": _back,
    "POST /jobs/{job}/line-up-again": _again,
    "POST /jobs/{job}/text": lambda _: {"data": {"text": cafe() + "\n# more\n", "based_on": "1"}},
    "POST /jobs/{job}/merge": _merge,
    "POST /new-job": lambda _: {"data": {"name": "Annex", "number": "7"}},
    "POST /jobs/{job}/copy": lambda _: {},
    "POST /jobs/{job}/archive": lambda _: {},
    "POST /import": lambda _: {"files": {"file": ("cafe.yaml", cafe().encode())}},
    "POST /import/{upload}": _upload,
    "POST /jobs/{job}/savings": _weather,
    "POST /jobs/{job}/cures": _cures,
    "POST /jobs/{job}/check-out/entries": lambda _: {"json": {"entries": [entry(cafe())]}},
    "POST /jobs/{job}/check-out/take-in": _log,
    "POST /jobs/{job}/diagnosis/notice": lambda _: {"data": {"complaint": "EF-1 does not run"}},
    "POST /jobs/{job}/diagnosis/take-back": _take_back,
    "POST /jobs/{job}/diagnosis/write": _write,
    "POST /jobs/{job}/revisions/{save}/restore": _restore,
    "POST /jobs/{job}/revisions/{save}/remarks": lambda _: {"path": {"save": 1}, "data": {"text": "why so long?"}},
    "POST /jobs/{job}/issued": _issue,
    "POST /api/v1/jobs": lambda _: {"json": {"text": cafe()}},
    "PUT /api/v1/jobs/{job}": lambda _: {"json": {"text": cafe() + "\n# more\n", "based_on": 1}},
    "PUT /api/v1/jobs/{job}/archived": lambda _: {"json": {"archived": True}},
    "POST /api/v1/jobs/{job}/package": lambda _: {"json": {"whole": False}},
    "POST /api/v1/jobs/{job}/readings": lambda _: {"json": {"readings_log": 1, "entries": [entry(cafe())]}},
    "POST /jobs/{job}/promises": lambda _: {"data": OWN_ROW},
    "POST /jobs/{job}/promises/remove": _row_to_remove,
    "POST /jobs/{job}/links": lambda _: {"data": {"label": "roof crew", "days": "3"}},
    "POST /jobs/{job}/links/{link}/revoke": lambda _: {"path": {"link": 1}},
}
"""What a call of an administrator sends that succeeds and changes something, for every route that is not a GET."""

NOTHING_CHANGES: frozenset[str] = frozenset({"POST /jobs/{job}/diagnosis/call"})
"""Routes that are no GET but change nothing that is kept (they only ask a question too long for an address); these
leave no line in the log."""
