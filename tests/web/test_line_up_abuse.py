"""Whatever is sent to the line-up: an answer in words, a text that still reads, never a failure."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.web.support import make_site

from galleyproof.store.jobs import save_of
from galleyproof.web.lineup.text import read_text

steps = st.one_of(
    st.sampled_from(
        ["hoods", "tag", "circuits", "drive", "air", "kind", "promises", "when", "issued", "0", "1", "9", "-1"]
    ),
    st.text(max_size=5),
)
paths = st.lists(steps, max_size=6).map(".".join)
anything = st.text(max_size=30)
values = st.one_of(
    anything, st.sampled_from(["&a", "*a", "<<: x", "- ", "|", "'", "\ud800", "\x00", "\u2028", "a\nb: c", "%", "!!x"])
)


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    made = make_site(tmp_path_factory.mktemp("abuse"))
    made.job = made.add("ferry-cafe")
    return made


@given(st.sampled_from(["cell", "add", "remove", "rename", "back", "again"]), paths, values, anything, st.booleans())
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_change_is_answered(site, what, path, value, old, sure):
    import json

    with site.db.session() as session:
        save = save_of(session, site.job).number
    body = {"based_on": save, "path": path, "value": value, "old": old, "new": value, "sure": sure}
    answer = site.client.post(
        f"/jobs/{site.job}/line-up-{what}",
        content=json.dumps(body).encode(),
        headers={"x-form-token": site.token(), "content-type": "application/json"},
    )
    assert answer.status_code in (200, 400, 409, 422), answer.text
    with site.db.session() as session:
        text = read_text(save_of(session, site.job).text)
    assert text.tables
    item = path.encode("utf-8", "replace").decode()[:150]
    section = site.client.get(f"/jobs/{site.job}/line-up/promises", params={"item": item})
    # a place that is not in the text is said not to be there
    assert section.status_code in (200, 404), section.text


@pytest.mark.parametrize("number", [-1, 0, 2**31, 2**63, 10**30])
def test_numbers_that_no_database_takes_are_refused(site, number):
    headers = {"x-form-token": site.token()}
    for what in ("cell", "add", "remove", "rename", "back", "again"):
        body = {"based_on": number, "path": "hoods.0.tag", "value": "x"}
        answer = site.client.post(f"/jobs/{site.job}/line-up-{what}", json=body, headers=headers)
        assert answer.status_code in (404, 409, 422)
    for path in ("text", "merge", "cures"):
        data = {"based_on": number, "theirs": number, "text": "a: b", "mine": "a: b"}
        answer = site.client.post(f"/jobs/{site.job}/{path}", data=data, headers=headers)
        assert answer.status_code in (404, 409, 422)
    assert site.client.get(f"/jobs/{site.job}/sizing/why", params={"key": "x", "save": number}).status_code in (
        404,
        422,
    )


def test_a_save_that_is_not_there_is_told(site):
    headers = {"x-form-token": site.token()}
    body = {"based_on": 5000, "path": "hoods.0.tag", "value": "x"}
    answer = site.client.post(f"/jobs/{site.job}/line-up-cell", json=body, headers=headers)
    assert answer.status_code == 404
    assert "no save 5000" in answer.text
