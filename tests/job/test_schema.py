"""docs/job-file.md and docs/job.schema.json are those of the model; nothing is left unexplained."""

import json
import re
from pathlib import Path

import pytest
from tests.job.support import MINIMAL, problems

from galleyproof.job.meanings import MEANINGS
from galleyproof.job.model import Job
from galleyproof.job.read import read_job
from galleyproof.job.schema import blocks, job_schema, key_table, render_page
from galleyproof.units import KINDS, UnitError, parse, parse_awg

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "job-file.md").read_text(encoding="utf-8")
SCHEMA = json.loads((DOCS / "job.schema.json").read_text(encoding="utf-8"))


def test_the_schema_in_docs_is_current():
    assert job_schema() == SCHEMA, "run: python scripts/write_job_docs.py"


def test_the_tables_of_the_page_are_current():
    assert render_page(PAGE) == PAGE, "run: python scripts/write_job_docs.py"


def test_every_block_has_its_table_on_the_page():
    assert sorted(re.findall(r"<!-- keys: (\w+) -->", PAGE)) == sorted(blocks())


@pytest.mark.parametrize("name", blocks())
def test_every_key_has_a_meaning_and_a_row(name):
    keys = list(blocks()[name].fields)
    assert list(MEANINGS[name]) == keys
    assert all(len(meaning) > 5 for meaning in MEANINGS[name].values())
    rows = re.findall(r"^\| `(\w+)` \|", key_table(name), re.MULTILINE)
    assert rows == keys


def test_every_section_has_a_heading():
    headings = re.findall(r"^## (\w+)$", PAGE, re.MULTILINE)
    assert set(Job.model_fields) - {"galleyproof"} <= set(headings)


@pytest.mark.parametrize("name", blocks())
def test_the_schema_knows_every_key_says_what_it_means_and_refuses_others(name):
    part = SCHEMA if name == "Job" else SCHEMA["$defs"][name]
    fields = blocks()[name].fields
    assert list(part["properties"]) == list(fields)
    assert part["additionalProperties"] is False
    assert set(part.get("required", [])) == {key for key, one in fields.items() if one.required}
    assert all(MEANINGS[name][key] in entry["description"] for key, entry in part["properties"].items())


def test_quantities_of_the_schema_are_texts_and_their_defaults_can_be_read():
    seen = 0
    for name, block in blocks().items():
        part = SCHEMA if name == "Job" else SCHEMA["$defs"][name]
        for key, one in block.fields.items():
            kind = getattr(one.shape, "kind", None)
            default = part["properties"][key].get("default")
            if kind is None or default is None:
                continue
            seen += 1
            assert parse_awg(default) if kind == "awg" else parse(default, kind) is not None
    assert seen > 20


def test_the_job_on_the_page_is_a_sound_job():
    example = PAGE.split("```yaml\n")[1].split("```")[0]
    assert read_job(example).exhaust_fans[0].airflow == 2400.0


def test_the_errors_on_the_page_are_said_so():
    shown = PAGE.split("```text\n")[1].split("```")[0]
    place, what = shown.splitlines()[0].split(": ", 1)[1].split("volts: ", 1)
    text = MINIMAL.replace("volts: 120 V", "volts: 240 V").replace("EF-1", "EF-2")
    (found,) = problems(text)
    assert f"{place}volts" == found.where
    assert found.what == what


def test_the_promise_on_the_page_can_be_read():
    example = PAGE.split("```yaml\n")[2].split("```")[0]
    text = MINIMAL + example.replace("EF-2", "EF-1")
    assert read_job(text).promises[0].expect == {"EF-1": "runs"}


@pytest.mark.parametrize("row", re.findall(r"^\| ([a-z ]+) \| (`[^|]+`) \| (`[^|]+`) \|$", PAGE, re.MULTILINE))
def test_how_a_quantity_is_written_is_read(row):
    title, _units, like = row
    kinds = [k.name for k in KINDS.values() if k.title == title]
    examples = re.findall(r"`([^`]+)`", like)
    assert examples
    for example in examples:
        if title == "conductor size":
            assert parse_awg(example)
            continue
        values = []
        for kind in kinds:
            try:
                values.append(parse(example, kind))
            except UnitError:
                continue
        assert values
