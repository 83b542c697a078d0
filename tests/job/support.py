"""Shared by the tests of the job file: the fixtures, and edits of them with the errors they must give."""

from dataclasses import dataclass
from pathlib import Path

from galleyproof.errors import JobError, Problem
from galleyproof.job.read import read_job

HERE = Path(__file__).parent
MINIMAL = (HERE / "minimal.yaml").read_text(encoding="utf-8")
HARBOUR = (HERE / "harbour.yaml").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Says:
    """One expected problem: the text its line must hold, its place, and what its message must hold."""

    at: str
    where: str
    words: tuple[str, ...]


def says(at: str, where: str, *words: str) -> Says:
    assert words
    return Says(at, where, words)


def edited(text: str, *changes: tuple[str, str]) -> str:
    for old, new in changes:
        assert text.count(old) == 1, f"{text.count(old)} times in the fixture: {old!r}"
        text = text.replace(old, new)
    return text


def problems(text: str | bytes, file: str = "job.yaml") -> tuple[Problem, ...]:
    try:
        read_job(text, file)
    except JobError as error:
        return error.problems
    return ()


def check_problems(text: str, expected: tuple[Says, ...]) -> None:
    """Exactly the expected problems, each on the line that holds its text."""
    found = problems(text)
    lines = text.splitlines()
    told = "\n".join(map(str, found)) or "nothing"
    left = list(found)
    for one in expected:
        match = [
            p
            for p in left
            if p.where == one.where and one.at in lines[p.line - 1] and all(word in p.what for word in one.words)
        ]
        assert match, f"expected {one}\nfound:\n{told}"
        assert match[0].file == "job.yaml"
        left.remove(match[0])
    assert not left, f"more than expected:\n{told}"
