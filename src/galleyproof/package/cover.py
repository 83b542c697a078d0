"""Blocks of the cover: open questions, revision table, cautions."""

from __future__ import annotations

from galleyproof.package.facts import Facts, open_questions
from galleyproof.package.model import BLANK, Block, Column, Para, Row, Table
from galleyproof.package.words import CAUTIONS


def _revisions(facts: Facts) -> tuple[Row, ...]:
    """Earlier revisions, then this one."""
    identity = facts.job.job
    past = tuple((r.letter, r.date or "none in the job", r.text, "superseded", "", "") for r in facts.history.rows[:-1])
    what = facts.history.rows[-1].text if facts.history.rows else "first issue of this revision"
    return (*past, (identity.revision, identity.date or "none in the job", what, facts.status, BLANK, BLANK))


def cover(facts: Facts) -> tuple[Block, ...]:
    """What stands under the name of the job."""
    job = facts.job
    found = open_questions(facts)
    computed = [
        ("sizes", facts.sizes),
        ("promises", facts.proof),
        ("air side", facts.air),
        ("silent faults", facts.study),
        ("check-out sheet", facts.plan),
        ("savings", facts.savings),
    ]
    lacking = [name for name, value in computed if value is None]
    blocks: list[Block] = [
        Table(
            (
                Column("Rev.", 0.6),
                Column("Date", 1.2),
                Column("What", 2.6),
                Column("Status", 1.1),
                Column("Drawn", 1.3),
                Column("Checked", 1.3),
            ),
            _revisions(facts) + ((BLANK,) * 6,) * 2,
            "Revisions",
        ),
        Table(
            (Column("What", 1), Column("Of this job", 3)),
            (
                ("Panel", f"{job.panel.tag} in {job.panel.place}, circuit {job.panel.circuit}"),
                ("Hoods", ", ".join(h.tag for h in job.hoods)),
                ("Exhaust fans", ", ".join(f"{f.tag} ({f.drive.kind})" for f in job.exhaust_fans)),
                ("Make-up units", ", ".join(u.tag for u in job.makeup_units) or "none"),
                ("Fire systems", ", ".join(f"{f.tag} ({f.zone}, {f.agent})" for f in job.fire_systems)),
                ("Codes", f"NFPA 70-{job.codes.nec}, IMC {job.codes.imc}, NFPA 96-{job.codes.nfpa_96}"),
                ("Not yet computed", ", ".join(lacking)),
            ),
        ),
        Table(
            (Column("No.", 0.3, True), Column("Open", 6)),
            tuple((str(i), q) for i, q in enumerate(found, 1)) or (("", "none"),),
            f"Open questions: {len(found)}",
        ),
    ]
    blocks += [Para(words, "caution") for words in CAUTIONS]
    return tuple(blocks)
