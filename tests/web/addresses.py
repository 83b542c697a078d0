"""Every whole page of the app: name, address, and what must stand on it; for tests and for the pictures in docs/.

``{job}`` is the number of a job. Pages of an office with accounts are asked for by an administrator.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["PAGES", "PIECES", "Address"]


@dataclass(frozen=True, slots=True)
class Address:
    """A page.

    Attributes:
        name: Of its picture.
        route: Path of its route, as the routers have it.
        path: Where it is asked for.
        holds: Words that stand on it once it is whole.
        accounts: Whether it is a page of an office with accounts.
    """

    name: str
    route: str
    path: str
    holds: str
    accounts: bool = False


def _of_job(step: str, holds: str, more: str = "", name: str = "") -> Address:
    return Address(name or step, f"/jobs/{{job}}/{step}", f"/jobs/{{job}}/{step}{more}", holds)


PAGES = (
    Address("jobs", "/jobs", "/jobs", "Rev"),
    Address("new-job", "/new-job", "/new-job", "Supply of the building"),
    Address("import", "/import", "/import", "file"),
    _of_job("line-up", "Surroundings"),
    Address("line-up-hoods", "/jobs/{job}/line-up/{section}", "/jobs/{job}/line-up/hoods", "Appliances"),
    _of_job("findings", "Findings"),
    _of_job("cures", "cure"),
    _of_job("text", "galleyproof: 1"),
    _of_job("air", "cfm"),
    _of_job("sizing", "AWG"),
    _of_job("drawings", "Whole sheet"),
    _of_job("sequence", "all hold"),
    _of_job("slips", "hidden"),
    _of_job("slips/changes", "Hidden after", name="slips-changes"),
    _of_job("check-out", "Before the first reading"),
    _of_job("check-out/take-in", "file", name="take-in"),
    _of_job("check-out/field-sheet", "Field sheet", name="field-sheet"),
    _of_job("diagnosis", "Diagnosis"),
    _of_job("savings", "weather"),
    _of_job("revisions", "save"),
    _of_job("issued", "Issued sets"),
    _of_job("links", "Links"),
    Address("sign-in", "/sign-in", "/sign-in", "Sign in", accounts=True),
    Address("account", "/account", "/account", "password", accounts=True),
    Address("people", "/people", "/people", "administrator", accounts=True),
    Address("log", "/log", "/log", "Ada Quill", accounts=True),
    Address("interface", "/api", "/api", "openapi.json"),
)
"""Every page a person opens."""

PIECES = frozenset(
    {
        "/",
        "/jobs/{job}",
        "/jobs/{job}/w/{wire}",
        "/link/{word}",
        "/import/{upload}",
        "/jobs/{job}/check-out/field-sheet/file",
        "/jobs/{job}/check-out/plan",
        "/jobs/{job}/check-out/state",
        "/jobs/{job}/check-out/probe",
        "/jobs/{job}/check-out/causes",
        "/jobs/{job}/check-out/log",
        "/jobs/{job}/check-out/record",
        "/jobs/{job}/difference/{old}/{new}",
        "/jobs/{job}/difference/{old}/{new}/{name}",
        "/jobs/{job}/draft.zip",
        "/jobs/{job}/export.xlsx",
        "/jobs/{job}/export.yaml",
        "/jobs/{job}/findings-line",
        "/jobs/{job}/issued/{issued}/package.pdf",
        "/jobs/{job}/issued/{issued}/set.zip",
        "/jobs/{job}/issued/{issued}/verify",
        "/jobs/{job}/line-up/{section}/body",
        "/jobs/{job}/live",
        "/jobs/{job}/live/device",
        "/jobs/{job}/live/index",
        "/jobs/{job}/live/slip",
        "/jobs/{job}/live/what-if/{number}",
        "/jobs/{job}/live/wire/{number}",
        "/jobs/{job}/prepared/package.pdf",
        "/jobs/{job}/progress/{kind}",
        "/jobs/{job}/sheets/{number}",
        "/jobs/{job}/sizing/why",
    }
)
"""Routes that answer with a part of a page, data, a file or the way to a page; their own pages' tests try them."""
