"""The grid of situations, as one tree of scripts from dark; latches remember the way.

Fire system armed / each zone released / all released × switches × heat off / on × every supply present / lost /
returned. A supply is lost last, so that the scripts share their beginnings. Beside the grid: a release after a control
supply was lost, a release during a total outage, re-arming with and without the hand reset, a reset pressed during the
release, every sensor open and shorted, every other master calling, every hand position.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from galleyproof.job.model import Job, switch_tags
from galleyproof.proof.model import Step


class _Tree:
    def __init__(self, job: Job) -> None:
        self.job = job
        self.steps: list[Step] = []
        self.zones = list(dict.fromkeys(f.zone for f in job.fire_systems))
        self.circuits = [c.tag for c in job.circuits]
        shutdown = [f.shutdown_circuit for f in job.fire_systems if f.shutdown_circuit]
        self.controls = list(dict.fromkeys([job.panel.circuit, *shutdown]))

    def add(self, parent: int, events: Mapping[str, Any], facts: Mapping[str, str] | None, *name: str) -> int:
        words = " · ".join(n for n in name if n)
        self.steps.append(Step(parent, dict(events), dict(facts) if facts is not None else None, words))
        return len(self.steps) - 1


def grid(job: Job) -> tuple[Step, ...]:
    """All steps; a parent always stands before its children."""
    tree = _Tree(job)
    base = {f"supply {c}": "present" for c in tree.circuits}
    base |= {f"fire {z}": "armed" for z in tree.zones}
    base |= {f"heat {h.tag}": "off" for h in job.hoods}
    base |= {f"switch {s.tag}": "off" for s in job.switches}
    base |= {f"sensor {s.tag}": "ok" for h in job.hoods for s in h.sensors}
    base |= {"masters": "rest", "reset": "pressed"}
    powered = tree.add(-1, {f"supply {c}": "present" for c in tree.circuits}, {**base, "reset": "not yet"}, "power on")
    ready = _press(tree, powered)
    start = tree.add(ready, {}, base, "all off")
    for words, positions in _positions(job):
        events = {f"switch {t}": p for t, p in positions.items()}
        facts = {**base, **events}
        cold = tree.add(start, events, facts, words) if events else start
        _fires(tree, cold, facts, words)
        heat = {f"heat {h.tag}": "on" for h in job.hoods}
        hot_facts = {**facts, **heat}
        words_hot = f"{words} · heat on"
        hot = tree.add(cold, heat, hot_facts, words_hot)
        _fires(tree, hot, hot_facts, words_hot)
    _singles(tree, start, base)
    return tuple(tree.steps)


def _press(tree: _Tree, parent: int) -> int:
    """A hand presses every reset, and lets go."""
    down = tree.add(parent, {"reset": True}, None, "")
    return tree.add(down, {"reset": False}, None, "")


def _positions(job: Job) -> Iterator[tuple[str, dict[str, str]]]:
    fans = [s for s in job.switches if s.does == "fans"]
    lights = {s.tag: "on" if s.kind == "on-off" else "auto" for s in job.switches if s.does == "lights"}
    yield "switches off", {}
    on = {s.tag: "on" if s.kind == "on-off" else "auto" for s in fans}
    if on or lights:
        yield "switches on", {**on, **lights}
    hand = {s.tag: "hand" for s in fans if s.kind == "hand-off-auto"}
    if hand:
        yield "switches at hand", {**on, **hand, **lights}


def _fires(tree: _Tree, at: int, facts: Mapping[str, str], words: str) -> None:
    _supplies(tree, at, facts, words)
    choices = [[z] for z in tree.zones]
    if len(tree.zones) > 1:
        choices.append(tree.zones)
    for zones in choices:
        which = zones[0] if len(zones) == 1 else "all zones"
        released = {f"fire {z}": "released" for z in zones}
        now = {**facts, **released, "reset": "not yet"}
        said = f"{words} · {which} released"
        node = tree.add(at, released, now, said)
        _supplies(tree, node, now, said)
        pressed = tree.add(node, {"reset": True}, {**now, "reset": "held down"}, said, "reset held down")
        tree.add(pressed, {"reset": False}, now, said, "reset let go")
        armed = {f"fire {z}": "armed" for z in zones}
        re_armed = {f"fire {z}": "re-armed" for z in zones}
        quiet = tree.add(node, armed, {**facts, **re_armed, "reset": "not yet"}, words, f"{which} re-armed, no reset")
        back = _press(tree, quiet)
        tree.add(back, {}, facts, words, f"{which} re-armed and reset by hand")
        # a control supply has gone unnoticed before the release comes
        for circuit in tree.controls:
            gone = tree.add(at, {f"supply {circuit}": "lost"}, None, "")
            late = {**now, f"supply {circuit}": "lost before"}
            tree.add(gone, released, late, words, f"{circuit} lost, then {which} released")
        # the release comes while the building is dark
        out = {f"supply {c}": "lost" for c in tree.circuits}
        dark = tree.add(at, out, None, "")
        in_dark = tree.add(dark, released, {**now, **out}, words, f"outage, then {which} released")
        present = {f"supply {c}": "present" for c in tree.circuits}
        returned = {f"supply {c}": "returned" for c in tree.circuits}
        tree.add(in_dark, present, {**now, **returned}, words, f"outage, {which} released, then power back")


def _supplies(tree: _Tree, at: int, facts: Mapping[str, str], words: str) -> None:
    groups = [[c] for c in tree.circuits]
    if len(tree.circuits) > 1:
        groups.append(tree.circuits)
    for circuits in groups:
        which = circuits[0] if len(circuits) == 1 else "whole supply"
        lost = {f"supply {c}": "lost" for c in circuits}
        node = tree.add(at, lost, {**facts, **lost}, words, f"{which} lost")
        present = {f"supply {c}": "present" for c in circuits}
        returned = {f"supply {c}": "returned" for c in circuits}
        tree.add(node, present, {**facts, **returned, "reset": "not yet"}, words, f"{which} back")


def _singles(tree: _Tree, start: int, base: Mapping[str, str]) -> None:
    job = tree.job
    for hood in job.hoods:
        for sensor in hood.sensors:
            for state in ("open", "short"):
                event = {f"sensor {sensor.tag}": state}
                tree.add(start, event, {**base, **event}, f"{sensor.tag} {state}")
        if len(job.hoods) > 1:
            event = {f"heat {hood.tag}": "on"}
            tree.add(start, event, {**base, **event}, f"heat under {hood.tag} only")
    for switch in job.switches:
        positions = ["on"] if switch.kind == "on-off" else ["auto", "hand"]
        for position in positions:
            event = {f"switch {switch.tag}": position}
            alone = tree.add(start, event, {**base, **event}, f"{switch.tag} {position} only")
            for zone in tree.zones:
                fire = {f"fire {zone}": "released"}
                tree.add(
                    alone,
                    fire,
                    {**base, **event, **fire, "reset": "not yet"},
                    f"{switch.tag} {position} only · {zone} released",
                )
    for system in job.fire_systems:
        if system.switches > 1:
            for tag in switch_tags(system):
                pulled = {f"release {tag}": "pulled"}
                facts = {**base, f"fire {system.zone}": "released", "reset": "not yet"}
                tree.add(start, pulled, facts, f"{tag} alone released")
    for name, values in _others(job).items():
        for value in values:
            event = {name: value}
            facts = {**base, "masters": f"{name.split(' ', 1)[1]} {value}"}
            calls = tree.add(start, event, facts, f"{name} {value}")
            for zone in tree.zones:
                fire = {f"fire {zone}": "released"}
                tree.add(calls, fire, {**facts, **fire, "reset": "not yet"}, f"{name} {value} · {zone} released")


def _others(job: Job) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for unit in job.makeup_units:
        control = unit.control
        if control.kind == "driven from the panel":
            continue
        if control.hand_switch != "none":
            found[f"switch {unit.tag}-S1"] = ("off", "hand")
        for master in control.second_masters:
            found[f"master {master.tag}"] = ("calls",)
    return found
