"""Air, sizing, savings and findings: what the core says, every number with its steps."""

from __future__ import annotations

import html
import re

import pytest
from tests.web.support import EXAMPLES, make_site

from galleyproof.air.job_air import check_air
from galleyproof.design.build import build_design
from galleyproof.job.read import read_job
from galleyproof.library.reader import load_library
from galleyproof.savings.read import read_weather
from galleyproof.savings.study import study
from galleyproof.sizing.whole_job import size
from galleyproof.store.jobs import add_job, save_of
from galleyproof.store.people import LOCAL
from galleyproof.units import format_awg
from galleyproof.web.air_tables import grids

WEATHER = EXAMPLES / "weather" / "greensboro-tmy3.csv"
CAFE = (EXAMPLES / "ferry-cafe.yaml").read_text()


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    made = make_site(tmp_path_factory.mktemp("results"))
    made.cafe = made.add("ferry-cafe")
    return made


@pytest.fixture(scope="module")
def job():
    return read_job(CAFE)


@pytest.fixture(scope="module")
def sizes(job):
    return size(job, build_design(job), load_library())


def words(page: str) -> str:
    """A page's text."""
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)))


def get(site, path: str) -> str:
    answer = site.client.get(f"/jobs/{site.cafe}/{path}")
    assert answer.status_code == 200, answer.text
    return answer.text


def add(site, text: str) -> int:
    with site.db.session() as session:
        return add_job(session, LOCAL, text, "n", "1", "A", "new").id


# --- air --------------------------------------------------------------------------------------------------------------


def test_the_air_page_shows_every_reason_and_every_row(site, job):
    report = check_air(job)
    said = words(get(site, "air"))
    for item, whys in report.reasons.items():
        for why in whys:
            assert why.title in said, item
            assert f"{why.title}: {why.value}" in said
            for line in why.lines:
                assert " ".join(re.sub(r"^\d+\. ", "", line).split()) in said
    for grid in grids(report):
        assert grid.title in said
        for row in grid.rows:
            for cell in row.cells:
                assert cell in said
    assert {row.item for grid in grids(report) for row in grid.rows} <= {*report.reasons, "kitchen"}


def test_the_numbers_of_the_tables_are_those_of_the_report(job):
    report = check_air(job)
    by_key = {grid.key: grid for grid in grids(report)}
    (hood,) = by_key["exhaust"].rows
    assert hood.cells[3] == f"{report.hoods[0].design_cfm:,.0f}"
    assert [row.cells[1] for row in by_key["balance"].rows] == [f"{b.exhaust_cfm:,.0f}" for b in report.balances]
    assert [row.bad for row in by_key["balance"].rows] == [b.positive for b in report.balances]


def test_reasons_can_be_narrowed(site):
    page = get(site, "air?item=MAU-1")
    assert 'id="why-MAU-1"' in page
    assert 'id="why-EF-1"' not in page
    assert "no number about nothing" in words(get(site, "air?item=nothing"))


# --- sizing -----------------------------------------------------------------------------------------------------------


def test_every_number_stands_on_the_page_with_a_way_to_its_steps(site, sizes):
    page = html.unescape(get(site, "sizing"))
    from urllib.parse import quote

    for number in sizes.numbers:
        assert f"key={quote(number.key)}" in page.replace("&amp;", "&"), number.key
        assert number.what in page


def test_every_number_gives_its_steps_and_clauses(site, sizes):
    for number in sizes.numbers[::7]:
        answer = site.client.get(f"/jobs/{site.cafe}/sizing/why", params={"key": number.key, "save": 1})
        assert answer.status_code == 200
        said = words(answer.text)
        for step in number.result.steps:
            assert " ".join(step.text.split()) in said
            for citation in step.basis:
                assert citation.place in said
        for passed in number.result.passed_over:
            assert " ".join(passed.split()) in said
    assert site.client.get(f"/jobs/{site.cafe}/sizing/why", params={"key": "x", "save": 1}).status_code == 404
    assert site.client.get(f"/jobs/{site.cafe}/sizing/why", params={"key": "x", "save": 9}).status_code == 404


def test_every_conductor_and_raceway_is_listed(site, sizes):
    conductors = get(site, "sizing?tab=conductors")
    numbers = re.findall(r'<th scope="row" class="num">(\d+)</th>', conductors)
    assert len(numbers) == len(sizes.conductors)
    assert len(set(numbers)) == len(numbers)
    said = words(conductors)
    assert {format_awg(c.awg) for c in sizes.conductors.values()} <= set(re.findall(r"[\d/]+ (?:AWG|kcmil)", said))
    raceways = words(get(site, "sizing?tab=raceways"))
    for raceway in sizes.raceways:
        assert raceway.tag in raceways


def test_a_search_leaves_the_rows_that_hold_all_its_words(site, sizes):
    said = words(get(site, "sizing?words=branch conductor ampacity"))
    assert "branch conductor ampacity" in said
    assert "equipment ground" not in said
    assert "Nothing here holds" in words(get(site, "sizing?words=zebra"))
    assert site.client.get(f"/jobs/{site.cafe}/sizing?tab=else").status_code == 422


def test_results_name_the_save_they_belong_to(site):
    job = add(site, CAFE.replace("min_speed: 50 %", "min_speed: 60 %"))
    assert "save=1&" in html.unescape(site.client.get(f"/jobs/{job}/sizing").text)


# --- a job with mistakes ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("page", ["air", "sizing", "savings", "findings", "cures"])
def test_a_job_with_mistakes_shows_them_and_computes_nothing(site, page):
    job = add(site, CAFE.replace("length: 8 ft", "length: 8 cubits"))
    if page == "savings":
        site.client.post(
            f"/jobs/{job}/savings",
            files={"file": ("w.csv", WEATHER.read_bytes())},
            headers={"x-form-token": site.token()},
        )
    said = words(site.client.get(f"/jobs/{job}/{page}").text)
    assert "8 cubits" in said or "mistakes that come first" in said
    assert "14 AWG" not in said


# --- findings and cures -----------------------------------------------------------------------------------------------


def test_findings_lead_to_the_entries_they_are_about(site):
    page = get(site, "findings")
    assert f'href="/jobs/{site.cafe}/line-up/fire?item=fire_systems.0#item"' in page
    assert "SHUNT-LATENT" in page
    line = words(get(site, "findings-line"))
    assert "Save 1: 3 notes." in line
    assert "all hold" in line


def test_a_cure_is_shown_and_put_into_the_job(site):
    text = (EXAMPLES / "wrong" / "low-speed-in-fire.yaml").read_text()
    job = add(site, text)
    headers = {"x-form-token": site.token()}
    assert "error" in words(site.client.get(f"/jobs/{job}/findings").text)
    said = words(site.client.get(f"/jobs/{job}/cures").text)
    assert "exhaust fan EF-1: on_release" in said
    old = site.client.post(f"/jobs/{job}/cures", data={"based_on": 7}, headers=headers)
    assert old.status_code == 409
    done = site.client.post(f"/jobs/{job}/cures", data={"based_on": 1}, headers=headers, follow_redirects=False)
    assert done.status_code == 303
    with site.db.session() as session:
        save = save_of(session, job)
    assert save.number == 2
    assert read_job(save.text).exhaust_fans[0].on_release == "full speed"
    assert save.text.startswith(text.split("\n", 1)[0])  # its remarks stay
    assert "no errors and no warnings" in words(site.client.get(f"/jobs/{job}/cures").text)


# --- savings ----------------------------------------------------------------------------------------------------------


def test_the_year_is_that_of_the_core(site, job):
    assert "Weather file" in get(site, "savings")
    answer = site.client.post(
        f"/jobs/{site.cafe}/savings",
        files={"file": ("greensboro-tmy3.csv", WEATHER.read_bytes())},
        headers={"x-form-token": site.token()},
    )
    assert answer.status_code == 200
    found = study(job, read_weather(WEATHER.read_text()))
    page = answer.text
    said = words(page)
    saving = found.savings[0]
    assert f"{saving.fan_kwh:,.0f} kWh" in said
    assert f"{saving.bands['fan_kwh'].low:,.0f} to {saving.bands['fan_kwh'].high:,.0f}" in said
    assert f"{found.energy('constant volume').exhaust_kwh:,.0f} kWh" in said
    for result in found.field:
        assert result.short in said
    for item in found.reasons:
        assert f"<h3>{item}</h3>" in page
    assert "no promise" in said


def test_the_chart_needs_nothing_that_the_policy_refuses(site):
    page = get(site, "savings")
    chart = page[page.index("<svg") : page.index("</svg>")]
    assert "style=" not in chart
    assert "<script" not in chart
    assert "href" not in chart


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"nonsense", "neither an EPW file"),
        (b"LOCATION,a\n", "not taken"),
        (WEATHER.read_bytes()[:20_000], "not taken"),
        (b"1" * 4_100_000, "4 MB"),
    ],
)
def test_what_is_no_weather_is_refused_and_not_kept(site, content, said):
    job = add(site, CAFE)
    headers = {"x-form-token": site.token()}
    answer = site.client.post(f"/jobs/{job}/savings", files={"file": ("x", content)}, headers=headers)
    assert answer.status_code == 422
    assert said in words(answer.text)
    assert "Weather of" not in words(site.client.get(f"/jobs/{job}/savings").text)
