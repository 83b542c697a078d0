"""What a live drawing asks for: states as data, panels about conductors, devices and slips as parts of the page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse

from galleyproof.errors import CircuitError
from galleyproof.store.errors import NotFoundError
from galleyproof.store.jobs import save_of
from galleyproof.store.people import Right, Who
from galleyproof.web.access import Needs
from galleyproof.web.asked import Question, SaveNumber, live_of
from galleyproof.web.computed import REVIEWED, STUDIED
from galleyproof.web.office import Here, Office
from galleyproof.web.page import Part, show
from galleyproof.web.pages.drawings import drawn_of

if TYPE_CHECKING:
    from galleyproof.web.about import Consequence, DeviceFacts, SlipRow, WireFacts
    from galleyproof.web.live import Live
    from galleyproof.web.situations import Asked
    from galleyproof.web.wired import Wired

routes = APIRouter()
Site = Annotated[Who, Depends(Needs(Right.SITE))]
Asks = Annotated[Question, Depends()]
PATIENCE_S = 0.8
"""The proof is waited for this long before a device is told about without it. [s]"""


@dataclass(frozen=True, kw_only=True)
class WirePart(Part):
    """All about one conductor in one situation."""

    template: ClassVar[str] = "_wire.html"
    wire: WireFacts


@dataclass(frozen=True, kw_only=True)
class WhatIfPart(Part):
    """What may be done wrong with a conductor."""

    template: ClassVar[str] = "_what_if.html"
    groups: tuple[tuple[str, tuple[SlipRow, ...]], ...]


@dataclass(frozen=True, kw_only=True)
class DevicePart(Part):
    """All about one device in one situation."""

    template: ClassVar[str] = "_device.html"
    device: DeviceFacts


@dataclass(frozen=True, kw_only=True)
class SlipPart(Part):
    """What one slip does."""

    template: ClassVar[str] = "_slip.html"
    slip: Consequence
    number: int


@routes.get("/jobs/{job}/live/index")
def index(here: Here, job: int, who: Site, save: SaveNumber = None) -> JSONResponse:
    """What stands on which sheet, and what can be searched."""
    live, drawn = live_of(here, job, save), drawn_of(here, job, save)
    place = {c.key: i for i, c in enumerate(live.design.conductors)}
    tags = {d.tag for d in live.design.devices}
    sheets = [
        {
            "number": s.number,
            "title": s.title,
            "links": s.links,
            "wires": sorted(place[k] for k in s.subjects if k in place),
            "devices": sorted(k for k in s.subjects if k in tags),
            "backwards": sorted(place[k] for k in s.backwards if k in place),
        }
        for s in drawn.sheets
    ]
    wires = [
        {"key": c.key, "number": c.number, "ends": [str(c.a), str(c.b)], "says": f"{c.awg} AWG {c.colour}, {c.purpose}"}
        for c in live.design.conductors
    ]
    devices = {d.tag: d.title for d in live.design.devices}
    return JSONResponse({"sheets": sheets, "wires": wires, "devices": devices, "watched": list(live.right.on.slots)})


@routes.get("/jobs/{job}/live")
def state(here: Here, job: int, who: Site, ask: Asks, save: SaveNumber = None) -> JSONResponse:
    """Volts on every conductor at every moment on the way to a situation; with a slip, as it then is."""
    live = live_of(here, job, save)
    with live.lock:
        labels: dict[str, int] = {"": 0}
        told: dict[str, Any] = {"moments": _moments(live.right, ask.asked, labels)}
        if ask.slip:
            try:
                told["wrong"] = _wrong(live, ask, labels)
            except CircuitError as error:
                told["burns"] = f"something burns or trips at once: {' '.join(str(error).split())}"
    return JSONResponse({**told, "labels": list(labels)})


def _moments(wired: Wired, asked: Asked, labels: dict[str, int]) -> list[dict[str, Any]]:
    on = wired.on
    return [
        {
            "words": m.words,
            "changes": m.changes,
            "kinds": now.kinds,
            "at": [labels.setdefault(words, len(labels)) for words in now.labels],
            "does": [labels.setdefault(on.words(m.state, tag), len(labels)) for tag in on.slots],
            "works": "".join("1" if _works(on.value(m.state, tag)) else "0" for tag in on.slots),
        }
        for m, now in zip(wired.way(asked), wired.pictures(asked), strict=True)
    ]


def _wrong(live: Live, ask: Question, labels: dict[str, int]) -> dict[str, Any]:
    """The same with a slip in place, and which conductors it changes at each moment."""
    right, designed = live.right.way(ask.asked), live.right.pictures(ask.asked)
    wired = live.wrong(ask.slip)
    told = _moments(wired, ask.asked, labels)
    for n, (moment, now) in enumerate(zip(wired.way(ask.asked), wired.pictures(ask.asked), strict=True)):
        # the moment of the right wiring that stands after the same event, as many delays later as there were
        same = [i for i, m in enumerate(right) if m.event == moment.event and m.time_s <= moment.time_s]
        told[n]["differs"] = now.differs(designed[same[-1]])
    change = live.slip(ask.slip).change
    keys = {*change.opened, *(k for k, _ in change.loose), *(m.conductor for m in change.moved)}
    marks = [i for i, c in enumerate(live.design.conductors) if c.key in keys]
    slip = live.slip(ask.slip)
    terminals = [str(t) for t in slip.terminals]
    return {"moments": told, "slipped": marks, "terminals": terminals, "devices": list(slip.devices)}


def _works(value: object) -> bool:
    from galleyproof.proof.judge import working

    return working(value)


@routes.get("/jobs/{job}/live/wire/{number}")
def wire(
    request: Request, here: Here, job: int, number: int, who: Site, ask: Asks, save: SaveNumber = None
) -> HTMLResponse:
    """A conductor: size and why, landings, what to read at both ends."""
    from galleyproof.web.about import wire_facts

    live = live_of(here, job, save)
    with live.lock:
        return show(request, WirePart(wire=wire_facts(live, live.conductor(number), ask.asked, ask.moment, ask.slip)))


@routes.get("/jobs/{job}/live/what-if/{number}")
def what_if(request: Request, here: Here, job: int, number: int, who: Site, save: SaveNumber = None) -> HTMLResponse:
    """Mistakes one could make with a conductor."""
    from galleyproof.web.about import slip_rows

    live = live_of(here, job, save)
    with live.lock:
        return show(request, WhatIfPart(groups=slip_rows(live, live.conductor(number))))


@routes.get("/jobs/{job}/live/slip")
def slip(request: Request, here: Here, job: int, who: Site, ask: Asks, save: SaveNumber = None) -> HTMLResponse:
    """What a slip does: in this situation, in the named ones, and in the study of all when that is there."""
    from galleyproof.web.about import consequence

    live = live_of(here, job, save)
    outcome = next((o for o in _outcomes(here, job, save) if o.slip.key == ask.slip), None)
    with live.lock:
        return show(request, SlipPart(slip=consequence(live, ask.slip, ask.asked, outcome), number=job))


@routes.get("/jobs/{job}/live/device")
def device(
    request: Request,
    here: Here,
    job: int,
    who: Site,
    ask: Asks,
    tag: Annotated[str, Query(max_length=80)],
    save: SaveNumber = None,
) -> HTMLResponse:
    """A device: what it is, its terminals, fed from, switched by, lost when."""
    from galleyproof.web.about import device_facts

    live = live_of(here, job, save)
    if tag not in live.design.device_by_tag:
        raise NotFoundError(f"this job has no device {tag}; search for it on the drawings")
    with here.db.session(reads=True) as session:
        text = save_of(session, job, save).text
    answer = here.work.wait(REVIEWED, text, PATIENCE_S)
    proof = answer.result.review.proof if answer.done and answer.result.review is not None else None
    with live.lock:
        return show(request, DevicePart(device=device_facts(live, tag, ask.asked, ask.moment, proof)))


def _known(office: Office, job: int, save: int | None, kind: Any) -> Any:
    """A result that is there already; nothing is begun for it."""
    with office.db.session(reads=True) as session:
        text = save_of(session, job, save).text
    found = office.work.known(kind, [text])
    return None if found is None else found[1].result


def _outcomes(office: Office, job: int, save: int | None) -> Iterator[Any]:
    known = _known(office, job, save, STUDIED)
    yield from known.study.outcomes if known is not None and known.study is not None else ()
