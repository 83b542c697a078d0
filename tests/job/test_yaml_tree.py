"""A text changed at any place: what was asked stands there, and nothing else of it is touched."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from galleyproof.yamltext import load, walk
from galleyproof.yamltext.nodes import Scalar
from galleyproof.yamltext.tree import at, change_raw, put, raw_of, spelled, take

EXAMPLES = Path(__file__).parents[2] / "examples"
TEXT = (EXAMPLES / "school-kitchen.yaml").read_text()
DOCUMENT = load(TEXT, "job")
TREE = raw_of(DOCUMENT.root)
SCALARS = [path for path, node in walk(DOCUMENT.root) if isinstance(node, Scalar)]
ITEMS = [path for path, _ in walk(DOCUMENT.root) if path and isinstance(path[-1], int)]
COMMENTS = re.compile(r"#.*")

typed = st.one_of(
    st.sampled_from(
        ["1-1/2 hp", "3' 6\"", "no", "true", "0x1F", "", "- x", "a: b", "x # y", "{", "[a, b]", "'", "007"]
    ),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=12),
)


@given(st.sampled_from(SCALARS), typed)
@settings(max_examples=60, deadline=None)
def test_a_typed_text_stands_as_typed_and_alone(path, text):
    changed = change_raw(DOCUMENT, put(TREE, path, text)).text
    again = load(changed, "job")
    assert at(raw_of(again.root), path) == text
    assert COMMENTS.findall(TEXT) == COMMENTS.findall(changed) or "#" in text
    old, new = TEXT.splitlines(), changed.splitlines()
    assert len(old) == len(new)
    assert sum(a != b for a, b in zip(old, new, strict=True)) <= 1


@given(st.sampled_from(ITEMS))
@settings(max_examples=40, deadline=None)
def test_an_entry_taken_away_takes_only_itself(path):
    changed = change_raw(DOCUMENT, take(TREE, path)).text
    assert raw_of(load(changed, "job").root) == take(TREE, path)
    # what is left was there before, but for the line that an entry of its own line leaves
    assert set(changed.splitlines()) - set(TEXT.splitlines()) <= {
        line for line in changed.splitlines() if "[" in line or line.lstrip().startswith("- ")
    }


@given(st.sampled_from([p for p in ITEMS if p[:1] == ("circuits",) and len(p) == 2]))
@settings(max_examples=20, deadline=None)
def test_an_entry_put_between_others_leaves_them(path):
    new = {"tag": "LP-2/99", "panelboard": "LP-2", "lines": ["L1"], "breaker": "15 A"}
    changed = change_raw(DOCUMENT, put(TREE, path, new, insert=True)).text
    assert at(raw_of(load(changed, "job").root), path) == new
    assert [line for line in TEXT.splitlines() if line not in changed.splitlines()] == []


def test_blocks_on_the_way_are_made():
    changed = change_raw(DOCUMENT, put(TREE, ("hoods", 1, "air", "plume", "free_height"), "3' 6\"")).text
    assert "free_height: 3' 6\"" in changed
    assert [c for c in COMMENTS.findall(TEXT) if c not in changed] == []


def test_an_empty_list_and_its_first_entry():
    emptied = change_raw(DOCUMENT, put(TREE, ("routes",), [])).text
    assert at(raw_of(load(emptied, "job").root), ("routes",)) == []
    document = load(emptied, "job")
    filled = change_raw(document, put(raw_of(document.root), ("routes", 0), {"tag": "R-1"})).text
    assert at(raw_of(load(filled, "job").root), ("routes",)) == [{"tag": "R-1"}]


def test_what_is_not_there_cannot_be_taken():
    with pytest.raises(LookupError):
        take(TREE, ("hoods", 99))
    with pytest.raises(LookupError):
        put(TREE, ("hoods", 99), "x")


def test_numbers_and_words_stay_without_quotes():
    from galleyproof.job.schema import blocks

    phases = blocks()["Motor"].fields["phases"].shape
    factor = blocks()["Motor"].fields["service_factor"].shape
    hard = blocks()["Motor"].fields["starts_hard"].shape
    assert [type(spelled(t, s)).__name__ for t, s in (("3", phases), ("1.15", factor), ("true", hard))] == [
        "Spelled"
    ] * 3
    assert type(spelled("many", factor)) is str
    place = ("exhaust_fans", 0, "drive", "motor")
    changed = change_raw(DOCUMENT, put(TREE, (*place, "service_factor"), spelled("1.150", factor))).text
    assert "service_factor: 1.150" in changed
