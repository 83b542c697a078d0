"""Complaints a person can choose from: sentences, and what the diagnosis makes of each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from galleyproof.checkout.complaints import ComplaintError, complaint
from galleyproof.checkout.model import Checkout, Reading

ABOUT: Mapping[str, tuple[str, ...]] = {
    ".speed": (
        "{} does not run",
        "{} stops after some seconds",
        "{} runs slowly",
        "{} is stuck at full speed",
        "{} hunts",
        "{} turns the wrong way",
        "{} does not stop",
    ),
    ".tripped": ("{} trips",),
    ".display": ("the display of {} is dark", "{} shows a fault", "{} shows stop", "{} is in local"),
    ".online": ("{} is not on line",),
    ".open": ("{} does not open", "{} does not shut", "{} comes back by itself"),
    ".on": ("{} stays dark", "{} stays on", "{} comes back by itself"),
    ">reads": ("{} reads open", "{} reads short", "{} does not react to heat", "{} reads 0"),
}
"""Ending of a slot -> what is said of the device that has it; 0 stands for a number to be given."""
OF_ALL = ("alarm without a fire", "no alarm in a release")
WHEN = ("", " with the switches off", " with the switches on", " while cooking", " in a release", " after a reset",
        " after an outage")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Saying:
    """One sentence.

    Attributes:
        about: Tag of the device; empty when it is about the whole job.
        text: The sentence.
        either: Probe and reading, of which at least one is so.
        number: The sentence ends in a 0, for which any number may stand; it is then the reading.
    """

    about: str
    text: str
    either: tuple[tuple[int, Reading], ...]
    number: bool = False


def sayings(checkout: Checkout) -> tuple[Saying, ...]:
    """Every sentence that can be followed up, one of those that mean the same.

    Args:
        checkout: All possible probes.
    """
    looks = [i for i, p in enumerate(checkout.probes) if p.kind in ("look", "display")]
    by_tag: dict[str, list[int]] = {}
    for i in looks:
        by_tag.setdefault(checkout.probes[i].about, []).append(i)
    found: list[Saying] = []
    for tag in sorted(by_tag):
        found += _of(checkout, by_tag[tag], tag)
    for text in OF_ALL:
        try:
            found.append(Saying("", text, complaint(checkout, text).either))
        except ComplaintError:
            continue
    return tuple(found)


def _of(checkout: Checkout, own: list[int], tag: str) -> Iterator[Saying]:
    # a sentence that names its device is about no other: those few probes are all it has to be held against
    few = Checkout(checkout.steps, checkout.preparations, tuple(checkout.probes[i] for i in own), checkout.things)
    seen: set[tuple[tuple[int, Reading], ...]] = set()
    for ending, forms in ABOUT.items():
        if not any(p.slot.endswith(ending) for p in few.probes):
            continue
        for form in forms:
            # a number comes last, or it would not be seen where the sentence ends
            for when in WHEN if not form.endswith(" 0") else WHEN[:1]:
                text = form.format(tag) + when
                try:
                    either = tuple((own[i], r) for i, r in complaint(few, text).either)
                except ComplaintError:
                    continue
                if either not in seen:
                    seen.add(either)
                    yield Saying(tag, text, either, text.endswith(" 0"))
