"""Sizes as data: every number with its steps and clauses, every raceway and conductor."""

from __future__ import annotations

from typing import Any

from galleyproof.cli import text
from galleyproof.cli.files import Loaded
from galleyproof.findings import Citation
from galleyproof.sizing.model import Number, RacewaySize, SizedConductor, Sizes


def sizes_data(one: Loaded, sizes: Sizes) -> dict[str, Any]:
    """All sizes of a job as data."""
    return {
        "job": one.name,
        "edition": sizes.edition,
        "summary": {
            **text.count(sizes.findings),
            "numbers": len(sizes.numbers),
            "raceways": len(sizes.raceways),
            "conductors": len(sizes.conductors),
        },
        "numbers": [number_data(n) for n in sizes.numbers],
        "raceways": [_raceway_data(r) for r in sizes.raceways],
        "conductors": [_conductor_data(c) for c in sizes.conductors.values()],
        "findings": [text.finding_data(f) for f in text.by_weight(sizes.findings)],
        "clauses": [citation_data(c) for c in sizes.citations()],
    }


def number_data(n: Number) -> dict[str, Any]:
    """A number with its whole reasoning as data."""
    value = n.result.value
    return {
        "key": n.key,
        "circuit": n.circuit,
        "item": n.item,
        "what": n.what,
        "value": value if isinstance(value, int | float | str) or value is None else n.text,
        "unit": n.result.unit,
        "text": n.text,
        "given": n.given,
        "ok": n.ok,
        "steps": [
            {"text": s.text, "value": s.value, "unit": s.unit, "clauses": [citation_data(c) for c in s.basis]}
            for s in n.result.steps
        ],
        "passed_over": list(n.result.passed_over),
        "clauses": [citation_data(c) for c in n.basis],
    }


def citation_data(c: Citation) -> dict[str, str]:
    """A clause as data."""
    return {"standard": c.standard, "edition": c.edition, "place": c.place, "note": c.note}


def _raceway_data(r: RacewaySize) -> dict[str, Any]:
    return {
        "raceway": r.tag,
        "kind": r.kind,
        "trade_size": r.trade_size,
        "from": r.from_place,
        "to": r.to_place,
        "length_ft": r.length_ft,
        "energy_class": r.energy_class,
        "fill_ratio": r.fill_ratio,
        "max_fill_ratio": r.max_fill_ratio,
        "current_carrying": r.current_carrying,
        "contents": [
            {"count": f.count, "size": f.size, "insulation": f.insulation, "diameter_inch": f.cable_diameter_inch}
            for f in r.contents
        ],
        "circuits": list(r.circuits),
        "cables": list(r.cables),
        "conductors": list(r.conductors),
        "why": r.why_key,
    }


def _conductor_data(c: SizedConductor) -> dict[str, Any]:
    return {
        "key": c.key,
        "size": c.awg,
        "insulation": c.insulation,
        "material": c.material,
        "ampacity_a": c.ampacity_a,
        "protected_a": c.protected_a,
        "protected_by": c.protected_by,
        "raceway": c.raceway,
        "why": c.why_key,
    }
