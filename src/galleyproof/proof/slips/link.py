"""The building link: end-of-line resistors missing or doubled, a port that says nothing."""

from __future__ import annotations

from collections.abc import Iterable

from galleyproof.design.model import TerminalId
from galleyproof.library.model import Contact
from galleyproof.proof.slips._registry import Found, kind
from galleyproof.proof.slips._site import Site
from galleyproof.proof.slips.model import Bridged, Change, Refit

END_OHM = 120.0
"""End-of-line resistor of TIA-485. [ohm]"""


@kind("end-of-line resistor missing", 3.0)
def missing(site: Site) -> Iterable[Found]:
    """No resistor at the far end, or none at the panel."""
    for device in site.devices_of("link_station_end"):
        at = (TerminalId(device.tag, "A"), TerminalId(device.tag, "B"))
        words = f"the end-of-line resistor at {device.tag} is missing"
        yield Found(device.tag, at, words, Change(refits=(Refit(device.tag, "type", "link_station"),)))
    for device in site.devices_of("end_resistor"):
        at = (TerminalId(device.tag, "1"), TerminalId(device.tag, "2"))
        words = f"the end-of-line resistor {device.tag} of the panel is missing"
        yield Found(device.tag, at, words, Change(dead=((device.tag, "end_of_line"),)))


@kind("end-of-line resistor doubled", 2.0)
def doubled(site: Site) -> Iterable[Found]:
    """A third one, at the far station."""
    for device in site.devices_of("link_station"):
        a, b = TerminalId(device.tag, "A"), TerminalId(device.tag, "B")
        words = f"one end-of-line resistor too many at {device.tag}, between {a} and {b}"
        yield Found(device.tag, (a, b), words, Change(bridged=(Bridged(f"third end {device.tag}", a, b, END_OHM),)))


@kind("link port silent", 1.5)
def silent(site: Site) -> Iterable[Found]:
    """Switched off in the settings, dead, or without bias: the line is right and nothing stands on it at rest."""
    for device in site.devices_of("controller"):
        a, b = TerminalId(device.tag, "A"), TerminalId(device.tag, "B")
        if site.landed(a) and any(p.name == "talk" for p in site.parts(device.tag, Contact)):
            words = f"the port of {device.tag} at {a} and {b} is off, dead or without bias: no volts between them"
            yield Found(device.tag, (a, b), words, Change(dead=((device.tag, "talk"),)))
