"""The interface for programs against its own description, by a tool that makes up calls from it (schemathesis).

A few calls of each operation here; many with ``GALLEYPROOF_API_CALLS=200``.
"""

from __future__ import annotations

import os

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.specs.openapi import checks as described
from tests.web.house import NAMES, add_people, quick_hashes
from tests.web.rules import cafe, entry
from tests.web.support import make_site

from galleyproof.checkout.log import Entry
from galleyproof.store.accounts import add_token, find_person
from galleyproof.store.people import LOCAL
from galleyproof.store.readings import add_readings
from galleyproof.web.computed import CHECKED_OUT, PACKED
from galleyproof.web.pages.api_about import openapi
from galleyproof.web.work import Calculator

CALLS = int(os.environ.get("GALLEYPROOF_API_CALLS", "4"))

LEFT_OUT = [
    # what a job's text, a reading or a save number has to be, no schema can say
    described.positive_data_acceptance,
    # test_access.py and test_api.py try every operation without a token and with wrong ones; here the tool takes our
    # token for one that it made up itself
    described.ignored_auth,
]


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        quick_hashes(patch)
        site = make_site(tmp_path_factory.mktemp("api"))
        site.add("ferry-cafe")
        add_people(site)
        with site.db.session() as session:
            add_readings(session, LOCAL, 1, [Entry.model_validate(entry(cafe()))])
            site.bearer = add_token(session, find_person(session, NAMES["administrator"])[0].who, "test")
    work = site.client.app.state.office.work = Calculator(processes=False)
    for kind in (CHECKED_OUT, PACKED):
        work.wait(kind, cafe(), 0.0)  # what takes long would count as no answer
    return site


@pytest.fixture(scope="module")
def interface(office):
    return schemathesis.openapi.from_asgi("/api/v1/openapi.json", office.client.app)


OPERATIONS = [(path, method.upper()) for path, item in openapi()["paths"].items() for method in item]


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda m: m.value)
def test_every_answer_is_as_described(interface, office, path, method, mode):
    """Calls that fit the description, and calls that do not."""
    operation = interface[path][method]

    @given(case=operation.as_strategy(generation_mode=mode))
    @settings(max_examples=CALLS, suppress_health_check=list(HealthCheck), derandomize=CALLS < 50, database=None)
    def calls(case):
        there = case.path_parameters or {}
        if isinstance(there.get("job"), int) and there["job"] % 2:
            there["job"] = 1  # the job there is, else nearly all calls would be for jobs there are not
        case.headers["Authorization"] = f"Bearer {office.bearer}"
        case.call_and_validate(excluded_checks=LEFT_OUT)

    calls()
