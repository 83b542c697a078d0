"""Draw docs/picture.svg: what the school kitchen does in eight situations, as the simulation finds it.

Run from the checkout: ``.venv/bin/python scripts/make_picture.py``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from galleyproof.circuit.machine import Machine, State
from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.proof.promises import effect_slots

ROOT = Path(__file__).parent.parent
JOB = ROOT / "examples" / "school-kitchen.yaml"
COLUMNS = {
    "EF-1": "exhaust, starter",
    "EF-2": "exhaust, drive",
    "MAU-1": "make-up",
    "A-1": "fryers",
    "A-4": "tilting pan",
    "GV-1": "gas valve",
    "H-1-E1": "hood lights",
    "FA-1": "building alarm",
}
ROW, COLUMN, LEFT, TOP = 34, 108, 296, 118


def rows(machine: Machine, circuits: list[str]) -> list[tuple[str, State]]:
    """The situations, each reached from the one before it or from the kitchen at work."""
    state = machine.apply(machine.dark(), {f"supply {c}": "present" for c in circuits})
    for pressed in (True, False):
        state = machine.apply(state, {"reset": pressed})
    on = machine.apply(state, {"switch SW-1": "on", "switch SW-2": "on"})
    hot = machine.apply(on, {f"heat H-{n}": "on" for n in (1, 2, 3)})
    fire = machine.apply(hot, {"fire Z1": "released"})
    armed = machine.apply(fire, {"fire Z1": "armed"})
    dead = machine.apply(fire, {"supply LP-2/1": "lost"})
    out = machine.apply(hot, {f"supply {c}": "lost" for c in circuits})
    back = machine.apply(out, {f"supply {c}": "present" for c in circuits})
    broken = machine.apply(state, {"sensor TS-2": "open"})
    return [
        ("switches on, nothing hot", on),
        ("cooking", hot),
        ("sensor TS-2 open, switches off", broken),
        ("fire system released", fire),
        ("released, then the panel's supply lost", dead),
        ("re-armed, nobody has reset", armed),
        ("whole supply lost", out),
        ("supply back, nobody has reset", back),
    ]


def words(value: Any, tag: str) -> tuple[str, bool]:
    """What a device does, and whether it works."""
    if isinstance(value, float):
        return (f"{value:.0%}", True) if value > 0.01 else ("stands", False)
    pairs = {"GV-1": ("open", "shut"), "FA-1": ("ALARM", "quiet")}
    yes, no = pairs.get(tag, ("on", "off"))
    return (yes, True) if value else (no, False)


def picture() -> str:
    """The SVG."""
    job = read_job(JOB.read_bytes(), JOB.name)
    design = build_design(job)
    machine = build_machine(job, design, load_library())
    slots = effect_slots(job, design)
    table = rows(machine, [c.tag for c in job.circuits])
    width, height = LEFT + COLUMN * len(COLUMNS) + 24, TOP + ROW * len(table) + 52
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        'font-family="IBM Plex Sans, DejaVu Sans, sans-serif" font-size="14">',
        f'<rect width="{width}" height="{height}" fill="#fcfbf7"/>',
        f'<text x="24" y="36" font-size="18" font-weight="600">{escape(job.job.name)}: what its wiring does</text>',
    ]
    for i, (tag, title) in enumerate(COLUMNS.items()):
        x = LEFT + COLUMN * i + COLUMN / 2
        parts.append(f'<text x="{x}" y="{TOP - 36}" text-anchor="middle" fill="#555">{escape(title)}</text>')
        parts.append(f'<text x="{x}" y="{TOP - 16}" text-anchor="middle">{escape(tag)}</text>')
        for j, (_name, state) in enumerate(table):
            said, works = words(machine.get(state, slots[tag]), tag)
            y = TOP + ROW * j
            fill, stroke = ("#dfe8dc", "#3d5a40") if works else ("#ffffff", "#b9b5aa")
            parts.append(
                f'<rect x="{LEFT + COLUMN * i + 4}" y="{y + 3}" width="{COLUMN - 8}" height="{ROW - 6}" rx="2" '
                f'fill="{fill}" stroke="{stroke}"/>'
            )
            weight = ' font-weight="600"' if works else ' fill="#666"'
            parts.append(f'<text x="{x}" y="{y + ROW / 2 + 5}" text-anchor="middle"{weight}>{said}</text>')
    for j, (name, _state) in enumerate(table):
        parts.append(f'<text x="24" y="{TOP + ROW * j + ROW / 2 + 5}">{escape(name)}</text>')
    note = "Every cell is the state of the simulated circuit once all delays have passed, not a table somebody typed."
    parts.append(f'<text x="24" y="{height - 20}" fill="#555">{note}</text></svg>')
    return "\n".join(parts) + "\n"


if __name__ == "__main__":
    (ROOT / "docs" / "picture.svg").write_text(picture(), encoding="utf-8")
