"""A page: a template and everything it uses, declared in one place."""

from __future__ import annotations

import re
from dataclasses import dataclass, fields, replace
from functools import cache
from pathlib import Path
from typing import ClassVar

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

from galleyproof.reasoning import source
from galleyproof.store.jobs import Head
from galleyproof.store.people import Right, Who
from galleyproof.web.access import form_token

__all__ = ["COMMON", "STEPS", "JobPage", "Page", "Part", "Standing", "Step", "environment", "pages", "show"]

STATIC = Path(__file__).parent / "static"


@dataclass(frozen=True, slots=True)
class Step:
    """One page of the order of the work.

    Attributes:
        path: Last part of its address.
        name: What it is called.
        right: Who sees it.
    """

    path: str
    name: str
    right: Right


STEPS = (
    Step("line-up", "Line-up", Right.READ),
    Step("air", "Air", Right.READ),
    Step("sizing", "Sizing", Right.READ),
    Step("drawings", "Drawings", Right.SITE),
    Step("sequence", "Sequence", Right.READ),
    Step("slips", "Slips", Right.READ),
    Step("check-out", "Check-out", Right.SITE),
    Step("diagnosis", "Diagnosis", Right.SITE),
    Step("savings", "Savings", Right.READ),
    Step("revisions", "Revisions", Right.READ),
    Step("issued", "Issued sets", Right.SITE),
)
"""Pages of a job in the order of the work."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Whether what a page shows belongs to the job as it stands.

    Attributes:
        state: ``done``, ``waiting``, ``running`` or ``failed``: of the text that stands.
        head: Number of the save that stands.
        shown: Number of the save that the results on the page were computed from; None when there are none.
        kind: Name of the calculation, for its progress.
        share: How much is done. [0 to 1]
        words: What is being done, or why it failed.
    """

    state: str
    head: int
    shown: int | None
    kind: str
    share: float
    words: str

    @property
    def older(self) -> bool:
        """Whether the page shows results of an older save."""
        return self.shown is not None and self.shown != self.head


@dataclass(frozen=True, kw_only=True)
class Part:
    """A piece of a page that is sent alone; its fields are all its template uses, besides ``COMMON``."""

    template: ClassVar[str]


@dataclass(frozen=True, kw_only=True)
class Page(Part):
    """A whole page."""

    here: ClassVar[str] = ""
    """Path of its step; empty outside a job."""
    title: str
    job: Head | None = None
    standing: Standing | None = None


@dataclass(frozen=True, kw_only=True)
class JobPage(Page):
    """A page of a job."""

    job: Head


COMMON = ("who", "token", "here", "steps", "version", "may")
"""Names every template has besides the fields of its page."""


@cache
def environment() -> Environment:
    """Where templates come from; everything they print is escaped, an unknown name is an error."""
    made = Environment(
        loader=PackageLoader("galleyproof.web"),
        autoescape=select_autoescape(default_for_string=True, default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["step"] = lambda s: str(replace(s, basis=()))
    made.filters["sources"] = lambda basis: "; ".join(dict.fromkeys(source(c) for c in basis))
    made.filters["unnumbered"] = lambda line: re.sub(r"^\d+\. ", "", line)
    made.filters["moment"] = lambda at: at.strftime("%Y-%m-%d %H:%M")
    return made


def show(request: Request, page: Part, status: int = 200) -> HTMLResponse:
    """The response that shows a page."""
    from galleyproof import __version__

    who: Who | None = getattr(request.state, "who", None)
    job = getattr(page, "job", None)

    def may(right: str) -> bool:
        return who is not None and who.may(Right(right), job.id if job is not None else who.job_id)

    given = {f.name: getattr(page, f.name) for f in fields(page)}
    context = {
        **given,
        "who": who,
        "token": form_token(request),
        "here": getattr(page, "here", ""),
        "steps": STEPS,
        "version": __version__,
        "may": may,
    }
    made = HTMLResponse(environment().get_template(page.template).render(context), status_code=status)
    made.page = page  # type: ignore[attr-defined]  # tests look at what a page was given
    return made


def pages() -> tuple[type[Part], ...]:
    """Every declared page and part, for the test that holds templates and declarations together."""
    found: list[type[Part]] = []
    left = [Part]
    while left:
        kind = left.pop()
        left += kind.__subclasses__()
        if "template" in kind.__dict__:
            found.append(kind)
    return tuple(sorted(found, key=lambda k: k.__name__))
