"""Where cures enrol: a function gives the moves for findings of its codes.

A cure proposes what an engineer would do, never what merely silences a rule: no promise is taken out, no answer of
the authority invented, nothing declared measured that nobody has measured, no protected load left unprotected.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Final, TypeAlias

from galleyproof.findings import Finding
from galleyproof.job.model import Job
from galleyproof.review.edits import Move
from galleyproof.review.whole import Papers

CureFunction: TypeAlias = Callable[[Job, Finding, Papers], Iterator[Move]]
_CURES: dict[str, list[CureFunction]] = {}

_ANOTHER_HOOD = "takes another hood or another place for the appliance: what a hood can do is its maker's to say"
_ANOTHER_FAN = "takes another fan: what it can do is its maker's to say"
_DECISION = "is a decision of the design"
_PANEL_PARTS = "the parts inside the panel are chosen by the design, not by a value of the job"

NO_CURE: Final[Mapping[str, str]] = MappingProxyType(
    {
        "FIRE-CONTACT-UNMEASURED": "needs a measurement on site: no change of the job can know which side is closed",
        "NAMEPLATE-NEEDED": "needs the nameplate: no change of the job can know what stands on it",
        "AIR-START-UP": "is a reading: what was measured is not changed, what is behind it has to be found",
        "PROMISE-NEVER-ASKED": "the row is the job's own: only who wrote it knows what it shall ask",
        "CHATTER": f"which device of the loop shall hold itself {_DECISION}",
        "TWO-SOURCES": f"which of the two circuits shall feed the conductors {_DECISION}",
        "SHARED-NEUTRAL": "each circuit needs a neutral of its own; the job file does not choose neutrals",
        "AIR-CEILING": _ANOTHER_HOOD,
        "AIR-STYLE": _ANOTHER_HOOD,
        "AIR-TYPE": _ANOTHER_HOOD,
        "AIR-SOLID-FUEL": _ANOTHER_HOOD,
        "AIR-OVERHANG": _ANOTHER_HOOD,
        "AIR-LIP": _ANOTHER_HOOD,
        "AIR-DUCT-VELOCITY": "takes other ducts: how they can run only the building shows",
        "AIR-FAN-PRESSURE": _ANOTHER_FAN,
        "AIR-FAN-REACH": _ANOTHER_FAN,
        "AIR-DRIVE-LIMIT": _ANOTHER_FAN,
        "AIR-ENERGY-OPTION": f"by which of its options the energy code is fulfilled {_DECISION}",
        "AIR-SUPPLY-INSIDE": f"how much air is blown into the hood {_DECISION}",
        "AIR-MAKEUP-TEMPERATURE": f"how warm or cold make-up air may be {_DECISION}",
        "AMBIENT-HOT": "takes a cooler way for the conductors: only the building shows one",
        "CONDUCTOR-NONE": "takes parallel conductors or two circuits, which is a design of its own",
        "CONTROL-PROTECTOR": _PANEL_PARTS,
        "TERMINAL-FULL": _PANEL_PARTS,
    }
)
"""Codes that no change of the job clears, each with the reason."""


def cure(*codes: str) -> Callable[[CureFunction], CureFunction]:
    """Enrol a function for findings of some codes."""

    def enrol(function: CureFunction) -> CureFunction:
        for code in codes:
            _CURES.setdefault(code, []).append(function)
        return function

    return enrol


def known_codes() -> frozenset[str]:
    """Codes that have a cure or a reason why there is none."""
    return frozenset(_CURES) | frozenset(NO_CURE)


def moves_for(papers: Papers, finding: Finding) -> tuple[Move, ...]:
    """Moves that may clear a finding, each once, the likeliest first."""
    if finding.code in NO_CURE:
        return ()
    found = [m for function in _CURES.get(finding.code, ()) for m in function(papers.job, finding, papers)]
    return tuple(dict.fromkeys(found))


def no_cure(finding: Finding) -> str:
    """Why no move is known for a finding."""
    return NO_CURE.get(finding.code, "no change of one value of the job is known to clear it")
