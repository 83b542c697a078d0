"""A type file with a mistake is refused with its file, its line and the cure."""

import pytest

from galleyproof.circuit.behaviours import rules_of
from galleyproof.design.model import Design, Device, Program
from galleyproof.errors import CircuitError, LibraryError
from galleyproof.library.reader import load_library, read_types

GOOD = """\
- type: buzzer
  title: buzzer
  letter: P
  size_inch: [1, 1, 2]
  ratings:
    load_v: {unit: V, default: 24}
  terminals:
    - {mark: "1", energy: Class 2}
    - {mark: "2", energy: Class 2}
  parts:
    - {part: load, name: horn, a: "1", b: "2", volts: $load_v, watts: 3}
    - {part: joint, a: "1", b: ~inner}
  behaviours:
    - {do: indicator, form: dc, load_parts: [horn]}
"""

# what is changed in GOOD, into what, the line it is in, and what the message has to say
BAD = {
    "terminal named twice": (
        '"2", energy: Class 2}', '"2"}\n    - {mark: "1"}', 10, ["terminal 1", "twice", "its own mark"],
    ),
    "part on an unknown terminal": (
        'a: "1", b: "2", volts', 'a: "1", b: "3", volts', 11, ["b is 3", "no terminal", "1, 2", "~name"],
    ),
    "joint on an unknown terminal": ('joint, a: "1"', 'joint, a: "7"', 12, ["a is 7", "no terminal", "1, 2"]),
    "unknown rating": ("$load_v", "$coil_v", 11, ["$coil_v", "no rating coil_v", "load_v", "add the rating"]),
    "unknown rating of the heat": ("[1, 1, 2]", "[1, 1, 2]\n  heat_w: $loss_w", 5, ["heat_w", "no rating loss_w"]),
    "neither watts nor va": (", watts: 3", "", 11, ["horn", "neither watts nor va", "one of the two"]),
    "both watts and va": ("watts: 3", "watts: 3, va: 4", 11, ["horn", "both watts and va", "one of the two"]),
    "part named twice": (
        "joint, a", "contact, name: horn, a", 12, ["horn", "named twice", "rename"],
    ),
    "unknown key": ("letter: P", "leter: P", 3, ["unknown key 'leter'", "nearest: 'letter'"]),
    "unknown key of a part": ("watts: 3", "wats: 3", 11, ["unknown key 'wats'", "nearest: 'watts'"]),
    "unknown key of a behaviour": ("load_parts", "load_prts", 14, ["load_prts", "nearest: 'load_parts'"]),
    "wrong kind of part": ("part: load,", "part: lode,", 11, ["'lode'", "'load'", "nearest"]),
    "missing kind of part": ("part: load, ", "", 11, ["part", "is missing", "'load'"]),
    "role that is no part": ("[horn]", "[bell]", 14, ["load_parts names bell", "no part", "horn"]),
    "roles not a list": ("[horn]", "horn", 14, ["'horn' is a single value", "[horn]"]),
    "volts that are no rating": ("form: dc,", "form: dc, volts: coil_v,", 14, ["volts names coil_v", "load_v"]),
    "no terminals": (
        '  terminals:\n    - {mark: "1", energy: Class 2}\n    - {mark: "2", energy: Class 2}\n', "  terminals: []\n",
        7, ["has 0 entries", "at least 1"],
    ),
    "mark with a space": ('{mark: "2"', '{mark: "X 2"', 9, ["'X 2'", "without a space"]),
    "unknown energy class": ('"2", energy: Class 2', '"2", energy: Class 3', 9, ["'Class 3'", "'Class 2'"]),
    "number that is none": ("watts: 3", "watts: three", 11, ["'three'", "write a number without a unit", "$"]),
    "size with a unit": ("[1, 1, 2]", "[1 in, 1 in, 2 in]", 4, ["size_inch", "[4, 3, 2.5]"]),
    "capacity of nothing": ('"2", energy: Class 2', '"2", capacity: 0', 9, ["'0'", "at least 1"]),
    "type with capitals": ("type: buzzer", "type: Buzzer", 1, ["'Buzzer'", "small letters"]),
    "letter that is none": ("letter: P", "letter: p1", 3, ["'p1'", "IEC 81346-2"]),
    "type given twice": (
        "- {do: indicator, form: dc, load_parts: [horn]}",
        '- {do: indicator, form: dc, load_parts: [horn]}\n- {type: buzzer, title: another, terminals: [{mark: "1"}]}',
        15, ["buzzer", "line 1", "rename"],
    ),
}  # fmt: skip


def refused(text, file="own.yaml"):
    with pytest.raises(LibraryError) as caught:
        read_types(text, file)
    return caught.value.problems


def test_the_example_of_these_tests_is_taken():
    (kind,) = read_types(GOOD, "own.yaml")
    assert kind.type == "buzzer"
    assert kind.ratings["load_v"].default == 24


@pytest.mark.parametrize(("old", "new", "line", "says"), BAD.values(), ids=BAD)
def test_a_mistake_is_told_once_with_its_place_and_cure(old, new, line, says):
    assert GOOD.count(old) == 1
    (problem,) = refused(GOOD.replace(old, new))
    assert (problem.file, problem.line) == ("own.yaml", line)
    assert problem.where.lower().startswith("device type buzzer")
    whole = f"{problem.where}: {problem.what}"
    for piece in says:
        assert piece in whole
    # pydantic's own words reach nobody
    for foreign in ("Input should", "input_value", "pydantic", "validation error"):
        assert foreign not in whole


def test_all_mistakes_of_a_file_are_told_at_once():
    text = GOOD.replace("$load_v", "$coil_v").replace('{mark: "2"', '{mark: "1"').replace("[horn]", "[bell]")
    assert [p.line for p in refused(text)] == [9, 11, 11, 14]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("- type: [unclosed\n", ["own.yaml:"]),
        ("type: buzzer\n", ["list"]),
        ("", ["empty"]),
        (b"\xff\xfe\x00", ["UTF-16"]),
        (b"\x89PNG\r\n", ["not UTF-8"]),
        ("just words\n", ["list"]),
        ("- just words\n", ["'just words'", "type, title, terminals"]),
    ],
    ids=["unclosed", "no list", "empty", "UTF-16", "binary", "one word", "list of words"],
)
def test_a_file_that_is_no_list_of_types_is_refused(text, says):
    problems = refused(text)
    assert len(problems) == 1
    for piece in says:
        assert piece in str(problems[0])


def test_a_behaviour_that_does_not_exist_is_named_with_the_known_ones():
    library = load_library({"own.yaml": GOOD.replace("do: indicator", "do: whistle")})
    made = Design((Device("P-1", "buzzer", "", ""),), (), (), (), (), (), Program(""), "CP1")
    with pytest.raises(CircuitError, match=r"P-1: type buzzer names the behaviour whistle.*known:.*indicator"):
        rules_of(made, library)


def test_the_problems_of_all_files_are_told_together():
    with pytest.raises(LibraryError) as caught:
        load_library({"b.yaml": GOOD.replace("[horn]", "[bell]"), "a.yaml": GOOD.replace("letter: P", "leter: P")})
    assert [(p.file, p.line) for p in caught.value.problems] == [("a.yaml", 3), ("b.yaml", 14)]
