"""The air side of a whole job, checked."""

from __future__ import annotations

from galleyproof.air._facts import Facts, Notes
from galleyproof.air.job_balance import (
    balances_of,
    planned_transfer_cfm,
    shared_fans,
    transfer_share_ratio,
    unit_rows,
)
from galleyproof.air.job_ducts import duct_rows
from galleyproof.air.job_exhaust import energy_verdict, exhaust_table
from galleyproof.air.job_fans import fan_rows
from galleyproof.air.job_record import records
from galleyproof.air.job_setpoints import delay_rows, fan_setpoints, hood_setpoints
from galleyproof.air.model import AirReport
from galleyproof.job.model import Job

__all__ = ["check_air"]


def check_air(job: Job) -> AirReport:
    """Everything the air rules say about a job.

    Args:
        job: The job, read and checked.

    Returns:
        Exhaust of every hood by three methods; the kitchen's balance at every operating point; ducts, fans and
        motors; set-points; start-up readings against expectation; findings; the reasoning behind each number.

    Leaves out:
        The split of a shared fan at idle, taken as that at design; wind and stack effect; humidity.
    """
    facts, notes = Facts(job), Notes()
    balances = balances_of(facts, notes)
    energy = energy_verdict(facts, transfer_share_ratio(balances[0]), notes)
    hoods = exhaust_table(facts, energy, notes)
    units = unit_rows(facts, notes)
    shared = shared_fans(facts, notes)
    ducts = duct_rows(facts, notes)
    fans = fan_rows(facts, notes)
    maps = hood_setpoints(facts, notes)
    limits = fan_setpoints(facts, fans, notes)
    delays = delay_rows(facts, notes)
    found = records(facts, fans, limits, units, balances, notes)
    return AirReport(
        hoods=hoods,
        energy=energy,
        balances=balances,
        transfer_cfm=planned_transfer_cfm(facts),
        shared=shared,
        units=units,
        ducts=ducts,
        fans=fans,
        hood_setpoints=maps,
        fan_setpoints=limits,
        delays=delays,
        records=found,
        findings=tuple(notes.findings),
        reasons={item: tuple(whys) for item, whys in notes.reasons.items()},
    )
