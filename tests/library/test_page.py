"""docs/device-types.md and the library say the same."""

import re
from typing import get_args

import pytest
from tests.library.type_table import PAGE, page

from galleyproof.circuit.behaviours import BEHAVIOURS
from galleyproof.library.model import DeviceType, PartSpec, TerminalSpec
from galleyproof.library.reader import load_library, read_types

TEXT = PAGE.read_text(encoding="utf-8")
PARTS = {get_args(m.model_fields["part"].annotation)[0]: m for m in get_args(get_args(PartSpec)[0])}


def table(head):
    body = TEXT.split(f"| {head} |")[1].split("\n\n")[0].splitlines()[2:]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in body]


def test_the_table_of_types_is_current():
    assert page(TEXT) == TEXT, "run: python -m tests.library.type_table"


def test_every_shipped_type_is_on_the_page_once():
    listed = re.findall(r"^\| `(\w+)` \| [^|]+ \| [A-Z]{1,2} \|", TEXT, re.MULTILINE)
    assert sorted(listed) == sorted(load_library())


def test_every_key_of_a_type_is_on_the_page_and_no_other():
    named = [name for first, _ in table("Key of a type") for name in re.findall(r"`(\w+)`", first)]
    assert sorted(named) == sorted(DeviceType.model_fields)


def test_every_key_of_a_terminal_is_on_the_page():
    (meaning,) = [second for first, second in table("Key of a type") if first == "`terminals`"]
    assert all(f"`{key}`" in meaning for key in TerminalSpec.model_fields)
    assert all(f"`{word}`" in meaning for word in get_args(TerminalSpec.model_fields["energy"].annotation))


@pytest.mark.parametrize("word", PARTS)
def test_every_part_is_on_the_page_with_its_keys(word):
    (keys,) = [keys for part, keys, _ in table("Part") if part == f"`{word}`"]
    if word == "load3":
        keys += next(k for part, k, _ in table("Part") if part == "`load`")
    own = set(PARTS[word].model_fields) - {"part", "name", "a", "b"}
    assert own <= set(re.findall(r"`(\w+)`", keys))


def test_no_part_is_on_the_page_that_does_not_exist():
    assert {part.strip("`") for part, *_ in table("Part")} == set(PARTS)


def test_the_example_is_a_type_and_its_mistake_is_told_in_the_words_of_the_page():
    example = re.findall(r"```yaml\n(.*?)```", TEXT, re.DOTALL)
    assert len(example) == 1
    (kind,) = read_types(example[0], "own.yaml")
    assert kind.behaviours[0].do in BEHAVIOURS
    told = re.findall(r"```\n(own\.yaml:\d+: [^\n]+)\n```", TEXT)
    assert len(told) == 1
    place = re.match(r"own\.yaml:\d+: ", told[0])[0]
    with pytest.raises(ValueError, match="coil_v") as caught:
        read_types(example[0].replace("volts: $load_v", "volts: $coil_v"), "own.yaml")
    assert re.sub(r"^own\.yaml:\d+: ", "", str(caught.value)) == told[0].removeprefix(place)
