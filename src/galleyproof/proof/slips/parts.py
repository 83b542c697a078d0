"""Parts that have failed: coils burnt, contacts welded, stuck or burnt away. Factory-made, but found on site."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from galleyproof.design.model import TerminalId
from galleyproof.library.model import Coil, Contact
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Bridged, Change

WELD_OHM = 0.01
"""A welded contact (common practice). [ohm]"""


def weld(tag: str, parts: Iterable[Contact]) -> Change:
    """Contacts closed for good."""
    return Change(
        bridged=tuple(
            Bridged(f"weld {tag}.{p.name}", TerminalId(tag, p.a), TerminalId(tag, p.b), WELD_OHM) for p in parts
        )
    )


def _ends(tag: str, parts: Iterable[Coil | Contact]) -> tuple[TerminalId, ...]:
    return tuple(TerminalId(tag, m) for p in parts for m in (p.a, p.b) if not m.startswith("~"))


@kind("coil burnt", 1.5)
def burnt(site: Site) -> Iterable[Found]:
    """An open coil: its volts are there and nothing moves."""
    for device in site.design.devices:
        for part in site.parts(device.tag, Coil):
            at = _ends(device.tag, (part,)) or (TerminalId(device.tag, site.marks(device.tag)[0]),)
            what = "shunt coil" if part.name == "shunt" else "coil"
            between = f"between {at[0]} and {at[1]}" if len(at) > 1 else f"behind {at[0]}"
            words = f"the {what} of {device.tag} is burnt: open {between}"
            yield Found(f"{device.tag}/{part.name}", at, words, Change(dead=((device.tag, part.name),)))


@kind("contactor welded", 1.5)
def welded(site: Site) -> Iterable[Found]:
    """The main contacts stay closed whatever the coil does."""
    for device in site.devices_of("contactor_held", "motor_contactor", "light_contactor"):
        main = [p for p in site.parts(device.tag, Contact) if not p.name.startswith(("aux", "ol_"))]
        ends = tuple(TerminalId(device.tag, m) for m in site.marks(device.tag)[:2])
        words = f"the main contacts of {device.tag} are welded closed"
        yield Found(device.tag, ends, words, weld(device.tag, main))  # type: ignore[arg-type]


def _single(site: Site) -> Iterator[tuple[str, Contact]]:
    """Contacts of relays, fire switches and proving switches that something hangs on."""
    for device in site.devices_of("fire_switch", "relay_", "airflow_switch", "current_switch", "damper_", "switch_"):
        for part in site.parts(device.tag, Contact):
            if all(site.landed(TerminalId(device.tag, m)) for m in (part.a, part.b)):
                yield device.tag, part  # type: ignore[misc]


@kind("contact stuck closed", 0.7)
def stuck(site: Site) -> Iterable[Found]:
    """A pitted contact that no longer opens."""
    for tag, part in _single(site):
        at = _ends(tag, (part,))
        words = f"the contact {' to '.join(t.mark for t in at)} of {tag} sticks closed"
        yield Found(f"{tag}/{part.name}", at, words, weld(tag, (part,)))


@kind("contact never makes", 0.7)
def never(site: Site) -> Iterable[Found]:
    """A burnt contact that no longer closes; also a seal-in contact that does not hold."""
    for tag, part in _single(site):
        at = _ends(tag, (part,))
        words = f"the contact {' to '.join(t.mark for t in at)} of {tag} never makes"
        yield Found(f"{tag}/{part.name}", at, words, Change(dead=((tag, part.name),)))


@kind("detector open", 2.0)
def detector(site: Site) -> Iterable[Found]:
    """A duct detector or other stopping contact that stands open."""
    for device in site.devices_of("master_stop"):
        for part in site.parts(device.tag, Contact):
            at = _ends(device.tag, (part,))
            words = f"{device.tag} stands open between {at[0]} and {at[1]}: it stops its unit for good"
            yield Found(device.tag, at, words, Change(dead=((device.tag, part.name),)))
