"""Single values: every error with its line, its place in words, the value and the cure, all at once."""

import pytest
from tests.job.support import HARBOUR, MINIMAL, check_problems, edited, problems, says

from galleyproof.job.read import read_job

CASES = {
    "unknown key": (
        ("    length: 8' 6\"", "    lenght: 8' 6\""),
        says("lenght", "hood H-1", "unknown key 'lenght'", "nearest: 'length'", "Known keys here: tag, style"),
    ),
    "unknown key of a block in braces": (
        ("lights: {load: 200 W,", "lights: {load: 200 W, swich: SW-2,"),
        says("lights:", "hood H-1: lights", "unknown key 'swich'", "nearest: 'switch'"),
    ),
    "unknown section": (
        ("routes:", "route:"),
        says("route:", "", "unknown key 'route'", "nearest: 'routes'"),
    ),
    "missing unit": (
        ("length: 8' 6\"", "length: 102"),
        says("length: 102", "hood H-1: length", "'102' needs a unit", "42 in", "units: ft"),
    ),
    "missing unit of a fraction": (
        ("airflow: 2,400 cfm", "airflow: 2,400"),
        says("airflow", "exhaust fan EF-1: airflow", "'2,400' needs a unit", "cfm"),
    ),
    "unit of another quantity": (
        ("volts: 120 V", "volts: 120 A"),
        says("volts", "exhaust fan EF-1: drive: motor: volts", "'120 A'", "unit of current", "208 V"),
    ),
    "unit nobody knows": (
        ("airflow: 2,400 cfm", "airflow: 2,400 cfn"),
        says("airflow", "exhaust fan EF-1: airflow", "'cfn' is not a known unit", "nearest unit: 'cfm'"),
    ),
    "negative length": (
        ("length: 45 ft", "length: -45 ft"),
        says("R-1", "route R-1: length", "-45 ft must be greater than zero"),
    ),
    "negative pressure": (
        ("airflow: 2,400 cfm", "airflow: 2,400 cfm\n    static_pressure: -1 in wc"),
        says("static_pressure", "exhaust fan EF-1: static_pressure", "-1 in wc must not be negative"),
    ),
    "word not in the list": (
        ("duty: medium", "duty: mediun"),
        says("duty", "hood H-1: duty", "'mediun' is not one of 'light', 'medium', 'heavy'", "nearest: 'medium'"),
    ),
    "number not in the list": (
        ("phases: 1", "phases: 2"),
        says("phases", "exhaust fan EF-1: drive: motor: phases", "'2' is not one of '1' or '3'"),
    ),
    "unknown kind of drive": (
        ("kind: EC\n", "kind: ECM\n"),
        says("kind", "exhaust fan EF-1: drive: kind", "'ECM' is not one of 'starter', 'VFD' or 'EC'", "nearest: 'EC'"),
    ),
    "kind left out": (
        ("      kind: EC\n", ""),
        says("drive:", "exhaust fan EF-1: drive: kind", "is missing", "'starter', 'VFD' or 'EC'"),
    ),
    "key left out": (
        ("    airflow: 2,400 cfm\n", ""),
        says("tag: EF-1", "exhaust fan EF-1: airflow", "is missing", "an airflow like 2400 cfm"),
    ),
    "section left out": (
        ("job:\n  name: Net loft canteen\n  number: SM-001\n", ""),
        says("galleyproof", "job", "is missing", "a block with name, number"),
    ),
    "text for a list": (
        ("serves: [H-1]", "serves: H-1"),
        says("serves", "exhaust fan EF-1: serves", "'H-1' is a single value", "write a list: [H-1]"),
    ),
    "list for a text": (
        ("zone: Z1\n    sensors", "zone: [Z1]\n    sensors"),
        says("zone", "hood H-1: zone", "is a list", "a text is expected"),
    ),
    "block for a list": (
        ("    poles:\n      - {use: panel loop, side: armed side}", "    poles: {use: panel loop}"),
        says("poles", "fire system FS-1: poles", "is a block of keys", "each entry begun with '- '"),
    ),
    "value for a block": (
        ("lights: {load: 200 W, circuit: LP-1/5}", "lights: 200 W"),
        says("lights", "hood H-1: lights", "'200 W' is a single value", "load, circuit"),
    ),
    "empty list": (
        ("serves: [H-1]", "serves: []"),
        says("serves", "exhaust fan EF-1: serves", "has 0 entries", "at least 1 needed"),
    ),
    "nothing behind a key": (
        ("duty: medium", "duty:"),
        says("duty", "hood H-1: duty", "is empty", "'light', 'medium'"),
    ),
    "tag with a space": (
        ("  - tag: H-1", "  - tag: H 1"),
        says("tag: H 1", "hood H 1: tag", "'H 1' is not allowed", "write it like EF-1"),
    ),
    "tag too long": (
        ("{tag: R-1,", "{tag: R-1234567890123456789012345,"),
        says("R-1234", "route R-1234567890123456789012345: tag", "has 27 characters", "at most 24"),
    ),
    "revision": (
        ("number: SM-001", "number: SM-001\n  revision: first"),
        says("revision", "job: revision", "'first' is not allowed", "one to three capital letters"),
    ),
    "edition too old": (
        ("supplies:", "codes: {imc: 1999}\nsupplies:"),
        says("codes", "codes: imc", "'1999' must be at least 2012"),
    ),
    "edition that is no number": (
        ("supplies:", "codes: {imc: new}\nsupplies:"),
        says("codes", "codes: imc", "'new' is not a whole number"),
    ),
    "service factor out of range": (
        ("nameplate_amps: 4.2 A", "nameplate_amps: 4.2 A, input_impedance_kohm: 0"),
        says("motor", "exhaust fan EF-1: drive: motor: input_impedance_kohm", "'0' must be greater than 0"),
    ),
    "yes or no": (
        ("airflow: 2,400 cfm", "airflow: 2,400 cfm\n    disconnect: maybe"),
        says("disconnect", "exhaust fan EF-1: disconnect", "'maybe' is not one of 'true' or 'false'"),
    ),
    "conductor size": (
        ("circuit: LP-1/1\n", "circuit: LP-1/1\n  control_awg: 18 gauge\n"),
        says("control_awg", "panel: control_awg", "'18 gauge' cannot be read as conductor size", "18 AWG"),
    ),
    "format of another day": (
        ("galleyproof: 1", "galleyproof: 2"),
        says("galleyproof", "galleyproof", "'2' is not one of '1'"),
    ),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_one_wrong_value(case):
    change, *expected = case
    check_problems(edited(MINIMAL, change), tuple(expected))


def test_errors_of_every_sort_are_told_at_once():
    text = edited(
        HARBOUR,
        ("length: 102 in", "length: 102"),
        ("tag: R-2, to: hood", "tag: R-2, too: hood"),
        ("volts: 277 V", "volts: 240 V"),
        ("tracks: [EF-1, EF-2]", "tracks: [EF-1, EF-9]"),
        ("taken_from: fire switch", "taken_from: fire swich"),
    )
    check_problems(
        text,
        (
            says("length", "hood H-1: length", "'102' needs a unit"),
            says("R-2", "route R-2", "unknown key 'too'", "nearest: 'to'"),
            says("volts: 240 V", "exhaust fan EF-2: drive: motor: volts", "480Y/277 V supply (277, 480)"),
            says(
                "tracks",
                "make-up unit MAU-1: tracks: entry 2",
                "there is no exhaust fan EF-9",
                "exhaust fans here: EF-1, EF-2",
            ),
            says("FAM-1", "building_alarm: taken_from", "'fire swich'", "nearest: 'fire switch'"),
        ),
    )


def test_what_is_wrong_in_one_item_is_not_told_again_where_others_name_it():
    text = edited(HARBOUR, ("{tag: SRV-2, system: 480Y/277 V}", "{tag: SRV-2, system: 480/277}"))
    check_problems(text, (says("SRV-2", "supply SRV-2: system", "'480/277' is not one of", "nearest: '480Y/277 V'"),))


def test_an_item_whose_tag_cannot_be_read_makes_no_other_error():
    text = edited(HARBOUR, ("{tag: LP-1/8, panelboard", "{tug: LP-1/8, panelboard"))
    check_problems(text, (says("LP-1/8", "circuit 6", "unknown key 'tug'", "nearest: 'tag'"),))


def test_a_section_whose_key_is_misspelt_makes_no_other_error():
    text = edited(HARBOUR, ("exhaust_fans:", "exaust_fans:"))
    check_problems(text, (says("exaust_fans", "", "unknown key 'exaust_fans'", "nearest: 'exhaust_fans'"),))


def test_problems_come_in_the_order_of_the_file():
    text = edited(HARBOUR, ("duty: heavy", "duty: hevy"), ("14 kA", "14"))
    found = problems(text)
    assert [p.line for p in found] == sorted(p.line for p in found)
    assert len(found) == 2


def test_the_message_names_the_file_the_line_and_the_place():
    (found,) = problems(edited(MINIMAL, ("duty: medium", "duty: middle")), "harbour/net-loft.yaml")
    assert str(found).startswith("harbour/net-loft.yaml:21: hood H-1: duty: 'middle' is not one of")


@pytest.mark.parametrize(
    "jargon", ["Input should", "pydantic", "validation error", "Traceback", "NoneType", "tuple", "dict"]
)
def test_no_message_speaks_of_the_program(jargon):
    told = []
    for change, *_ in CASES.values():
        told += [str(p) for p in problems(edited(MINIMAL, change))]
    assert len(told) >= len(CASES)
    assert not [one for one in told if jargon in one]


@pytest.mark.parametrize("word", ["true", "yes", "True"])
def test_yes_means_true(word):
    assert not problems(edited(MINIMAL, ("airflow: 2,400 cfm", f"airflow: 2,400 cfm\n    disconnect: {word}")))


def test_texts_that_look_like_something_else_stay_texts():
    # The classic traps of YAML 1.1: a country code, a time, an octal number.
    for name in ("NO", "12:30", "012", "1e3", "on"):
        assert read_job(edited(MINIMAL, ("name: Net loft canteen", f"name: {name}"))).job.name == name
