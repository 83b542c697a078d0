"""Reading YAML with lines: what is refused, what stays text, and that both parsers see the same."""

from enum import StrEnum
from typing import Annotated, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, Field, model_validator
from tests.job.support import HARBOUR, MINIMAL, problems

from galleyproof.errors import InputError, LibraryError
from galleyproof.job.read import read_job
from galleyproof.job.sample import job_of
from galleyproof.job.write import dump_job
from galleyproof.yamltext import MAX_BYTES, MAX_DEPTH, Scalar, Words, load, validate, walk
from galleyproof.yamltext.reader import MAX_SAME

PARSERS = ("fastest", "pure")


def refused(text, parser="fastest"):
    """Every problem of a text that needs no model to be refused."""
    try:
        return load(text, "f.yaml", parser=parser).problems
    except InputError as error:
        return error.problems


# name -> text, then (line, words) of every problem
REFUSED = {
    "nothing": ("", (0, "the file is empty")),
    "only a comment": ("\n\n# later\n", (0, "the file is empty")),
    "only null": ("~\n", (0, "the file is empty")),
    "NUL": ("a: 1\nb: \x00\n", (2, "code 0", "binary file")),
    "bytes of another encoding": (b"a: 1\nb: caf\xe9\n", (2, "0xe9 is not UTF-8", "save it as UTF-8")),
    "a picture": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", (1, "0x89 is not UTF-8", "binary file")),
    "UTF-16": ("a: 1\n".encode("utf-16"), (0, "in UTF-16", "save it as UTF-8")),
    "a line break of other YAMLs": ("a: 1\u2028b: 2\n", (1, "code 8232")),
    "too large": ("a: " + "x" * MAX_BYTES, (0, f"more than the {MAX_BYTES:,}")),
    "too deep": ("[" * (MAX_DEPTH + 1) + "]" * (MAX_DEPTH + 1), (1, f"deeper than the {MAX_DEPTH} levels")),
    "very deep": ("a: " + "[" * 900_000, (1, f"deeper than the {MAX_DEPTH} levels")),
    "deep by indent": ("\n".join(" " * n + f"k{n}:" for n in range(MAX_DEPTH + 2)), (25, "deeper than the 24")),
    "a tab as indent": ("a:\n\tb: 1\n", (2, "a tab", "use spaces")),
    "a tab before a comment": ("a: 1\t# x\nb: 2\n", (1, "a tab", "use spaces")),
    "two documents": ("a: 1\n---\nb: 2\n", (2, "a second document", "split the file")),
    "an anchor and its alias": (
        "a: &x 1\nb: *x\n",
        (1, "anchor &x is refused", "write the values out"),
        (2, "alias *x is refused", "write the values out"),
    ),
    "a merge key": ("a: {b: 1}\n<<: {c: 1}\n", (2, "merge key '<<' is refused")),
    "a tag": ("a: !!python/object/apply:os.system [ls]\n", (1, "tag !!python/object/apply:os.system is refused")),
    "a tag of one's own": ("a: !volts 3\n", (1, "tag !volts is refused")),
    "a key twice": ("a: 1\nb: 2\na: 3\n", (3, "'a' stands here a second time (first in line 1)", "keep one")),
    "a list as a key": ("? [a, b]\n: 1\n", (1, "cannot be a key")),
    "a second colon": ("a: 1\nb: c: d\n", (2, "not YAML", "': '", "in quotes")),
    "a wrong indent": ("a: 1\n  b: 2\n", (2, "not YAML", "indent")),
    "an open bracket": ("a: 1\nb: [1, 2\nc: 3\n", (3, "a bracket is not closed", "opened in line 2", "']'")),
    "an open brace": ("a: {b: 1\n", (1, "a bracket is not closed", "opened in line 1", "'}'")),
    "an open quote": ('a: "b\nc: 1\n', (2, "a quote is not closed", "opened in line 1")),
    "a sign that begins nothing": ("a: @b\n", (1, "'@' cannot begin a value", "in quotes")),
    "a backslash": ('a: "C:\\qed"\n', (1, "a backslash in double quotes", "single quotes")),
    "a list behind a key": ("a: - b\n", (1, "a list entry '- ' cannot begin here")),
    "a key among list entries": ("- a\nb: 1\n", (2, "not YAML")),
}


@pytest.mark.parametrize("parser", PARSERS)
@pytest.mark.parametrize("case", REFUSED.values(), ids=REFUSED)
def test_what_is_refused_has_its_line_and_cure(case, parser):
    text, *expected = case
    found = refused(text, parser)
    assert [p.line for p in found] == [line for line, *_ in expected]
    for problem, (_, *words) in zip(found, expected, strict=True):
        assert problem.file == "f.yaml"
        assert all(word in problem.what for word in words), problem


@pytest.mark.parametrize("text", [case[0] for case in REFUSED.values()], ids=REFUSED)
def test_a_job_file_so_spoilt_gives_problems_and_no_traceback(text):
    assert problems(text)


def test_anchors_that_would_expand_to_thousands_of_millions_cost_nothing():
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 10)]
    found = refused("\n".join(lines))
    assert sum("the anchor &" in p.what for p in found) == 10
    aliases = [p for p in found if "alias" in p.what]
    assert len(aliases) == MAX_SAME
    assert any(p.what == f"{90 - MAX_SAME} more of the same" for p in found)


def test_an_alias_hides_no_other_error():
    text = HARBOUR.replace("duty: heavy", "duty: &d hevy").replace("duty: light\n", "duty: *d\n", 1)
    found = problems(text)
    assert [(p.line, p.where) for p in found if p.where] == [(32, "hood H-1: duty")]
    assert sum("refused" in p.what for p in found) == 2


def test_many_tabs_are_counted():
    found = refused("a: 1\n" + "".join(f"k{n}: \t1\n" for n in range(50)))
    assert len(found) == MAX_SAME + 1
    assert "30 more lines" in found[-1].what


@pytest.mark.parametrize("text", [MINIMAL, HARBOUR, dump_job(job_of(3))])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_both_parsers_see_the_same_nodes(text, ends):
    text = text.replace("\n", ends)
    assert load(text, "f.yaml", parser="fastest") == load(text, "f.yaml", parser="pure")


def test_every_scalar_stands_where_it_is_said_to_stand():
    document = load(HARBOUR, "f.yaml")
    lines = HARBOUR.splitlines()
    scalars = [node for _, node in walk(document.root) if isinstance(node, Scalar)]
    assert len(scalars) > 200
    for node in scalars:
        assert HARBOUR[node.start : node.end] == node.text  # no quotes in this file
        assert node.text in lines[node.line - 1]


def test_a_mark_of_byte_order_is_no_part_of_the_text():
    assert read_job(b"\xef\xbb\xbf" + MINIMAL.encode()) == read_job(MINIMAL)


def test_a_file_of_three_thousand_lines_reads_fine():
    text = dump_job(job_of(64))
    lines = text.splitlines()
    # a remark above every second line, as a careful engineer might write
    long = "\n".join(line if n % 2 else f"# {n}\n{line}" for n, line in enumerate(lines))
    assert len(long.splitlines()) > 3000
    assert read_job(long) == job_of(64)


def test_an_error_at_the_end_of_a_long_file_has_its_line():
    text = dump_job(job_of(64)) + "  - {tag: R-9, to: roof, length: 3}\n"
    (first, *_), count = problems(text), len(text.splitlines())
    assert first.line == count
    assert first.where == "route R-9: length"


@given(st.text(max_size=200), st.sampled_from(PARSERS))
def test_no_text_gives_a_traceback(text, parser):
    assert all(problem.what for problem in refused(text, parser))


@given(st.binary(max_size=200))
def test_no_bytes_give_a_traceback(data):
    assert problems(data)


SPOIL = ("", " ", "\n", "-", ":", "{", "]", "#", '"', "&a ", "*a", "!x ", "\t", "null", "0", "[]", "{}", "'")


@given(st.integers(0, len(HARBOUR) - 1), st.integers(0, 12), st.sampled_from(SPOIL))
def test_a_job_file_with_a_spoilt_spot_gives_no_traceback(at, length, instead):
    for problem in problems(HARBOUR[:at] + instead + HARBOUR[at + length :]):
        assert problem.what


# --- any model --------------------------------------------------------------------------------------------------


class Colour(StrEnum):
    RED = "red"


class Nail(BaseModel):
    model_config = ConfigDict(extra="forbid")
    kind: Literal["nail"]
    name: str
    length: int = 3
    bent: bool = False
    colour: Colour = Colour.RED
    share: Annotated[float, Field(ge=0, le=1)] = 0.5
    extra: dict[str, float | str] = Field(default_factory=dict)
    size: float | str | None = None

    @model_validator(mode="after")
    def not_both(self):
        if self.bent and self.length > 5:
            raise ValueError("a long nail cannot be bent; write bent: false")
        return self


class Screw(BaseModel):
    model_config = ConfigDict(extra="forbid")
    kind: Literal["screw"]
    name: str


Thing = Annotated[Nail | Screw, Field(discriminator="kind")]
THINGS = tuple[Thing, ...]
WORDS = Words(nouns={"": "thing"}, labels=("name",))


def test_a_list_of_models_is_read():
    text = "- {kind: nail, name: a, length: 4, bent: yes, extra: {x: 1.5, y: z}, size: 3}\n- {kind: screw, name: b}\n"
    nail, screw = validate(load(text, "f"), THINGS, WORDS)
    assert (nail.length, nail.bent, nail.extra, nail.size) == (4, True, {"x": 1.5, "y": "z"}, 3)
    assert screw == Screw(kind="screw", name="b")


@pytest.mark.parametrize(
    ("line", "where", "words"),
    [
        ("{kind: nail, name: a, length: 3.5}", "thing a: length", ("'3.5' is not a whole number",)),
        ("{kind: nail, name: a, share: 2}", "thing a: share", ("'2' must be at most 1",)),
        ("{kind: nail, name: a, share: half}", "thing a: share", ("'half' is not a number",)),
        ("{kind: nail, name: a, bent: true, length: 6}", "thing a", ("a long nail cannot be bent; write bent: false",)),
        ("{kind: screw, name: a, length: 6}", "thing a", ("unknown key 'length'", "kind, name")),
        ("{kind: rivet, name: a}", "thing a: kind", ("'rivet' is not one of 'nail' or 'screw'",)),
        ("{name: a}", "thing a: kind", ("is missing", "'nail' or 'screw'")),
        ("nail", "thing 1", ("'nail' is a single value", "first kind ('nail' or 'screw')")),
    ],
)
def test_every_sort_of_error_of_any_model(line, where, words):
    with pytest.raises(LibraryError) as caught:
        validate(load(f"- {line}\n", "f"), THINGS, WORDS, error=LibraryError)
    (problem,) = caught.value.problems
    assert (problem.line, problem.where) == (1, where)
    assert all(word in problem.what for word in words), problem
