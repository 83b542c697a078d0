"""Every wiring mistake in every situation, and whether anyone would notice; the changes that take hidden ones away."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, ClassVar
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse

from galleyproof.errors import Problem
from galleyproof.store.jobs import job_head
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs
from galleyproof.web.computed import ADVISED, CHECKED_OUT, STUDIED
from galleyproof.web.office import Here, Office
from galleyproof.web.page import JobPage, show
from galleyproof.web.standing import Seen, look

if TYPE_CHECKING:
    from galleyproof.proof.advice import Bought
    from galleyproof.proof.study import Outcome
    from galleyproof.web.book import Book
    from galleyproof.web.studied import Advised, Studied

routes = APIRouter()
Reader = Annotated[Who, Depends(Needs(Right.READ))]
Word = Annotated[str, Query(max_length=120)]
PER_PAGE = 50
MEANS = {
    "hidden": "all looks well; a promise fails when it is needed",
    "announced": "an alarm sounds in daily use",
    "obvious": "something plainly does not work in daily use",
    "harmless": "every promise holds",
}
LOOKS = {"hidden": "bad", "announced": "warn", "obvious": "warn", "harmless": "good"}


@dataclass(frozen=True, slots=True)
class Row:
    """One slip for people.

    Attributes:
        verdict: Its class.
        kind: Its kind.
        sentence: What was done.
        seen: What a person would see.
        test: Who finds it, and how often.
        breaks: Promises it breaks. [-]
        reading: The first reading of the check-out that shows it; empty when none does or there is no plan yet.
        drawing: Address that shows it on the drawing.
        removed: Changes of the job that take it away, of those that were tried.
    """

    verdict: str
    kind: str
    sentence: str
    seen: str
    test: str
    breaks: int
    reading: str
    drawing: str
    removed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Filter:
    """Which slips are shown."""

    verdict: str = "hidden"
    kind: str = ""
    device: str = ""
    words: str = ""
    page: int = 1

    def at(self, page: int) -> str:
        """Another page of the same, as parameters."""
        return urlencode(
            {"verdict": self.verdict, "kind": self.kind, "device": self.device, "words": self.words, "page": page}
        )


@dataclass(frozen=True, kw_only=True)
class SlipsPage(JobPage):
    """The study of all slips."""

    template: ClassVar[str] = "slips.html"
    here: ClassVar[str] = "slips"
    counts: tuple[tuple[str, int, str], ...]
    total: int
    situations: int
    kinds: tuple[tuple[str, int], ...]
    devices: tuple[str, ...]
    chosen: Filter
    rows: tuple[Row, ...]
    found: int
    pages: int
    looks: Mapping[str, str]
    tests: tuple[tuple[str, int], ...]
    planned: bool
    advised: bool
    problems: tuple[Problem, ...]


@dataclass(frozen=True, kw_only=True)
class ChangesPage(JobPage):
    """Changes of the job that take hidden slips away."""

    template: ClassVar[str] = "slip_changes.html"
    here: ClassVar[str] = "slips"
    bought: tuple[Bought, ...] | None


@routes.get("/jobs/{job}/slips")
def slips(
    request: Request,
    here: Here,
    job: int,
    who: Reader,
    verdict: Annotated[str, Query(max_length=20)] = "hidden",
    kind: Word = "",
    device: Word = "",
    words: Word = "",
    page: Annotated[int, Query(ge=1, le=100_000)] = 1,
) -> HTMLResponse:
    """The study; hidden slips first, the likeliest of each class first."""
    from galleyproof.web.studied import Studied

    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(here, job, STUDIED)
    done: Studied = seen.result or Studied(None)
    outcomes = done.study.outcomes if done.study is not None else ()
    chosen = Filter(verdict, kind, device, words, page)
    found = _chosen(outcomes, chosen)
    first = (page - 1) * PER_PAGE
    readings, bought = _readings(here, seen), _bought(here, seen)
    counted = Counter(o.verdict for o in outcomes)
    tests = Counter(o.test for o in outcomes if o.test)
    return show(
        request,
        SlipsPage(
            title="Slips",
            job=head,
            standing=seen.standing,
            counts=tuple((v, counted[v], means) for v, means in MEANS.items()),  # type: ignore[index]
            total=len(outcomes),
            situations=done.study.situations if done.study is not None else 0,
            kinds=tuple(sorted(Counter(o.slip.kind for o in outcomes).items())),
            devices=tuple(sorted({d for o in outcomes for d in o.slip.devices})),
            chosen=chosen,
            rows=tuple(_row(job, o, readings or {}, done.ways, bought or ()) for o in found[first : first + PER_PAGE]),
            found=len(found),
            pages=max(1, -(-len(found) // PER_PAGE)),
            looks=LOOKS,
            tests=tuple(tests.most_common()),
            planned=readings is not None,
            advised=bought is not None,
            problems=done.problems,
        ),
    )


def _chosen(outcomes: Iterable[Outcome], chosen: Filter) -> list[Outcome]:
    words = chosen.words.lower().split()
    order = list(MEANS)
    found = [
        o
        for o in outcomes
        if (not chosen.verdict or o.verdict == chosen.verdict)
        and (not chosen.kind or o.slip.kind == chosen.kind)
        and (not chosen.device or chosen.device in o.slip.devices)
        and all(w in f"{o.slip.sentence} {o.seen} {o.slip.kind}".lower() for w in words)
    ]
    return sorted(found, key=lambda o: (order.index(o.verdict), -o.slip.prior, o.slip.kind, o.slip.key))


def _row(
    job: int, o: Outcome, readings: Mapping[str, str], ways: Mapping[str, str], bought: Sequence[Bought]
) -> Row:  # fmt: skip
    way = ways.get(o.broken[0].situation, "") if o.broken else ""
    return Row(
        o.verdict,
        o.slip.kind,
        o.slip.sentence,
        o.seen,
        o.test,
        len(o.broken),
        readings.get(o.slip.key, ""),
        f"/jobs/{job}/drawings?slip={quote(o.slip.key, safe='')}{'&' if way else ''}{way}",
        tuple(b.proposal.says for b in bought if o.slip.key in b.gone),
    )


def _readings(office: Office, seen: Seen) -> Mapping[str, str] | None:
    """Slip -> the first reading of the check-out that shows it; None while there is no plan for this text."""
    if seen.shown is None:
        return None
    known = office.work.known(CHECKED_OUT, [seen.shown.text])
    return None if known is None or not known[1].result.written else _first_readings(known[1].result)


def _bought(office: Office, seen: Seen) -> tuple[Bought, ...] | None:
    """Changes that were tried on this text; None while none were."""
    if seen.shown is None:
        return None
    known = office.work.known(ADVISED, [seen.shown.text])
    if known is None:
        return None
    found: Advised = known[1].result
    return found.bought


@lru_cache(maxsize=4)
def _first_readings(book: Book) -> Mapping[str, str]:
    from galleyproof.web.book import open_book

    found: dict[str, str] = {}
    for n, reading in enumerate(open_book(book).plan.readings, 1):
        for key in reading.catches:
            found.setdefault(key, f"reading {n}: {reading.probe.words}")
    return found


@routes.get("/jobs/{job}/slips/changes")
def changes(request: Request, here: Here, job: int, who: Reader) -> HTMLResponse:
    """Changes of the job, each tried by a study of its own."""
    with here.db.session(reads=True) as session:
        head = job_head(session, job)
    seen = look(here, job, ADVISED)
    done: Advised | None = seen.result
    return show(
        request,
        ChangesPage(
            title="Changes that take hidden slips away",
            job=head,
            standing=seen.standing,
            bought=None if done is None else done.bought,
        ),
    )
