"""The ferry café on the bench: every slip at every probe, simulated once for all tests of a process."""

from __future__ import annotations

from functools import cache

from tests.design.support import LIBRARY, design_of, example

from galleyproof.checkout.acceptance import acceptance
from galleyproof.checkout.plan import Plan, make_plan
from galleyproof.checkout.signatures import Signatures
from galleyproof.checkout.whole import Bench
from galleyproof.proof.slips import Slip, all_slips

NAME = "ferry-cafe"


@cache
def bench(name: str = NAME) -> Bench:
    return Bench(example(name), design_of(name), LIBRARY)


@cache
def slips(name: str = NAME) -> tuple[Slip, ...]:
    return all_slips(design_of(name), LIBRARY)


@cache
def table(name: str = NAME) -> Signatures:
    return bench(name).signatures(slips(name))


@cache
def plan(name: str = NAME) -> Plan:
    made = bench(name)
    required = acceptance(made.job, made.design, made.checkout)
    return make_plan(made.checkout, table(name).expected, table(name).shows, required)
