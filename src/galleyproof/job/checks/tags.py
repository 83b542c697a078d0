"""Tags: one thing, one tag."""

from __future__ import annotations

from collections.abc import Iterator

from galleyproof.errors import Problem
from galleyproof.job.checks.registry import check
from galleyproof.job.register import Named, Register

_MADE = {"QB": "the disconnect of", "S1": "the hand switch of", "E1": "the lights of"}


@check()
def tag_used_twice(r: Register) -> Iterator[Problem]:
    """Two things of one tag, whatever they are; letter case does not tell tags apart."""
    first: dict[str, Named] = {}
    for one in sorted(r.named, key=lambda n: r.document.line((*n.path, "tag"))):
        key = one.tag.casefold()
        if key not in first:
            first[key] = one
            continue
        other = first[key]
        line = r.document.line((*other.path, "tag"))
        case = "" if one.tag == other.tag else ", which differs only in letter case"
        what = (
            f"the tag {one.tag} is already used by {other.noun} {other.tag} in line {line}{case}; "
            "give each thing a tag of its own"
        )
        yield r.say((*one.path, "tag"), what)


@check()
def tag_kept_for_the_design(r: Register) -> Iterator[Problem]:
    """Tags that the design gives to devices of its own."""
    panel = r.panel.tag if r.panel else None
    known = {n.tag for n in r.named}
    for one in r.named:
        stem, _, last = one.tag.rpartition("-")
        if panel and one.tag.startswith(f"{panel}-"):
            what = f"tags that begin with {panel}- are kept for devices inside the panel {panel}; choose another"
            yield r.say((*one.path, "tag"), what)
        elif last in _MADE and stem in known:
            what = f"the tag {one.tag} is kept for {_MADE[last]} {stem}; choose another"
            yield r.say((*one.path, "tag"), what)
        elif one.noun != "circuit":
            system, _, number = one.tag.rpartition("/")
            switches = r.fire_systems[system].switches if system in r.fire_systems else 1
            if number.isdigit() and 2 <= int(number) <= switches:
                what = f"the tag {one.tag} is kept for switch {number} of fire system {system}; choose another"
                yield r.say((*one.path, "tag"), what)


@check()
def issued_number_twice(r: Register) -> Iterator[Problem]:
    """Two conductors of one issued number."""
    issued = r.sections["issued"]
    if issued is None:
        return
    for name, table in (("conductors", issued.conductors), ("terminals", issued.terminals)):
        first: dict[object, str] = {}
        for key, number in table.items():
            if number in first:
                what = f"{number} is already given to {first[number]}; an issued number belongs to one only"
                yield r.say(("issued", name, key), what)
            first.setdefault(number, key)
            if isinstance(number, int) and number < 1:
                yield r.say(("issued", name, key), f"{number} is no conductor number; numbers begin at 1")
