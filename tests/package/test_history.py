"""Earlier revisions in the package: the revision table, the marks on the sheets, the list of what changed."""

from __future__ import annotations

import io
from functools import lru_cache

import openpyxl
import pytest
from tests.drawing.legibility import faults, width_of
from tests.drawing.reader import conductors, read_svg
from tests.drawing.support import row, wanted
from tests.package.support import SCHOOL, Document, document, facts_of, text_with

from galleyproof.cli.main import ALL_WELL, BAD_INPUT, main
from galleyproof.design.build import build_design, issue
from galleyproof.drawing.model import Layer, Polyline
from galleyproof.drawing.svg import write_svg
from galleyproof.job.model import Job, RoomSensor
from galleyproof.job.read import read_job
from galleyproof.job.write import update_text
from galleyproof.package.facts import Facts, gather, open_questions
from galleyproof.package.whole import make_package


def revised(job: Job, letter: str, date: str, **given: object) -> Job:
    identity = job.job.model_copy(update={"revision": letter, "date": date})
    return job.model_copy(update={"job": identity, **given})


@lru_cache(maxsize=1)
def chain() -> tuple[Job, Job, Job]:
    """Three revisions: as drawn; one more room sensor; then without the display."""
    first = read_job(SCHOOL.read_bytes(), SCHOOL.name)
    first = revised(issue(first, build_design(first)), "A", "2026-03-04")
    second = revised(first, "B", "2026-05-06", room_sensors=(*first.room_sensors, RoomSensor(tag="RS-2")))
    second = issue(second, build_design(second))
    return first, second, revised(second, "C", "2026-06-07", display=None)


@lru_cache(maxsize=1)
def facts() -> Facts:
    first, second, third = chain()
    built = [(j, build_design(j)) for j in (first, second)]
    known = facts_of(third)
    return gather(third, build_design(third), known.library, previous=built)


@lru_cache(maxsize=1)
def package() -> dict[str, bytes]:
    return make_package(facts(), b"")


@lru_cache(maxsize=1)
def made() -> Document:
    return document(package()["package.pdf"])


def changed() -> tuple[set[str], set[str]]:
    """Keys that came and went with the last revision, from the two designs alone."""
    old, new = (set(build_design(j).conductor_by_key) for j in chain()[1:])
    return new - old, old - new


def test_something_came_and_something_went():
    first, second, third = (set(build_design(j).conductor_by_key) for j in chain())
    assert second - first
    assert second - third


def test_the_cover_lists_every_revision():
    cover = made().pages[0]
    for words in ("A 2026-03-04 first issue superseded", "B 2026-05-06 conductors: ", "C 2026-06-07 conductors: "):
        assert words in cover
    assert f"conductors: {len(changed()[1])} removed" in cover


def test_the_title_block_of_every_sheet_lists_the_last_three():
    for sheet in facts().drawing:
        words = {label.words for label in read_svg(write_svg(sheet)).labels}
        assert {"A", "B", "C", "2026-03-04", "2026-05-06", "2026-06-07", "first issue", "revision C"} <= words


def small(stroke) -> bool:
    """Whether it is no larger than a mark."""
    xs, ys = zip(*stroke.points, strict=True)
    return abs(stroke.width - 0.25) < 0.01 and max(max(xs) - min(xs), max(ys) - min(ys)) < 1.8


def test_every_sheet_is_there_reads_back_and_is_legible():
    second, third = chain()[1:]
    one = gather(second, build_design(second), facts().library, previous=[(chain()[0], build_design(chain()[0]))])
    for each in (one, facts()):
        pictures = {s.number: read_svg(write_svg(s)) for s in each.drawing}
        assert {n.split(".")[0] for n in pictures} == set("123456789")
        for number, picture in pictures.items():
            # a mark stands on its conductor, and touches nothing else
            assert [f for f in faults(picture) if not f.startswith("a conductor (")] == [], number
            picture.strokes = [s for s in picture.strokes if not (s.closed and small(s))]
            assert faults(picture) == [], number
        found = [row(f) for n, p in pictures.items() if n[0] == "5" for f in conductors(p, width_of)]
        assert sorted(found, key=lambda f: f[0]) == wanted(each.design)
    came = {k for k in build_design(second).conductor_by_key if k not in build_design(chain()[0]).conductor_by_key}
    marked = {
        i.subject for s in one.drawing for i in s.items
        if isinstance(i, Polyline) and i.layer is Layer.REVISION and i.subject
    }  # fmt: skip
    assert marked == came
    assert third.job.revision == "C"


def test_what_is_gone_is_listed_with_its_old_number():
    gone = changed()[1]
    old = build_design(chain()[1])
    picture = read_svg(write_svg(facts().drawing.by_number["9.1"]))
    words = [label.words for label in picture.labels]
    for key in gone:
        assert str(old.conductor_by_key[key].number) in words
    assert words.count("no sheet any more") == len(gone) > 1
    listed = [label.words for label in read_svg(write_svg(facts().drawing.by_number["1.1"])).labels]
    assert "9.1" in listed


def test_the_workbook_and_the_manifest_say_so_too():
    book = openpyxl.load_workbook(io.BytesIO(package()["wires.xlsx"]))
    rows = list(book["Changes"].iter_rows(min_row=2, values_only=True))
    assert len(rows) == len(changed()[1])
    assert {r[0] for r in rows} == {"removed"}
    assert b'"earlier_revisions": [\n    "A",\n    "B"\n  ]' in package()["manifest.json"]
    assert "sheets/9.1.svg" in package()


def test_without_earlier_revisions_nothing_is_marked():
    plain = facts_of(chain()[0])
    assert not any(s.number.startswith("9.") for s in plain.drawing)
    assert not any(getattr(i, "layer", None) is Layer.REVISION for s in plain.drawing for i in s.items)


def test_numbers_that_were_not_kept_are_an_open_question():
    first = read_job(SCHOOL.read_bytes(), SCHOOL.name)
    fewer = revised(first, "B", "2026-05-06", display=None)
    found = gather(fewer, build_design(fewer), facts().library, previous=[(first, build_design(first))])
    assert any("have other numbers than in revision A" in q and "wires OLD --issue" in q for q in open_questions(found))
    assert not any("other numbers" in q for q in open_questions(facts()))


def test_files_and_folders_of_packages_are_taken_and_letters_may_not_repeat(tmp_path, capsys):
    first, second, third = chain()
    text = text_with("revision: A", "revision: A").decode()
    paths = []
    for job in (first, second, third):
        path = tmp_path / f"{job.job.revision}.yaml"
        path.write_text(update_text(text, job), encoding="utf-8")
        paths.append(str(path))
    folder = tmp_path / "earlier"
    folder.mkdir()
    (folder / "job.yaml").write_bytes((tmp_path / "B.yaml").read_bytes())
    out = tmp_path / "out"
    assert main(["package", paths[2], "-o", str(out), "--previous", paths[0], str(folder)]) == ALL_WELL
    same = gather(third, build_design(third), facts().library, previous=[(j, build_design(j)) for j in chain()[:2]])
    assert (out / "sheets" / "9.1.svg").read_text(encoding="utf-8") == write_svg(same.drawing.by_number["9.1"])
    capsys.readouterr()
    assert main(["package", paths[0], "-o", str(tmp_path / "no"), "--previous", paths[0]]) == BAD_INPUT
    assert "every revision has a letter of its own" in capsys.readouterr().err
    assert not (tmp_path / "no").exists()


@pytest.mark.parametrize("old", ["nothing.yaml", "."])
def test_an_earlier_revision_that_is_not_there_is_bad_input(tmp_path, monkeypatch, capsys, old):
    monkeypatch.chdir(tmp_path)
    assert main(["package", str(SCHOOL), "-o", str(tmp_path / "out"), "--previous", old]) == BAD_INPUT
    assert "cannot be read" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
