"""``compare OLD NEW -o DIR`` writes the marked sheets and the list; a folder of jobs or of no rights is refused."""

from __future__ import annotations

from pathlib import Path

from tests.cli.test_processes import ROOT, run

EXAMPLES = ROOT / "examples"
KITCHEN = EXAMPLES / "school-kitchen.yaml"


def revised(folder: Path) -> Path:
    text = KITCHEN.read_text(encoding="utf-8")
    assert "room_sensors:\n" in text
    new = folder / "revised.yaml"
    new.write_text(
        text.replace("room_sensors:\n", "room_sensors:\n  - {tag: RS-9, place: kitchen}\n"), encoding="utf-8"
    )
    return new


def test_the_revision_is_drawn(tmp_path: Path) -> None:
    out = tmp_path / "changes"
    done = run("compare", KITCHEN, revised(tmp_path), "-o", out)
    assert done.returncode == 1, done.stderr
    names = {p.name for p in out.iterdir()}
    assert "changes-9.1.svg" in names
    assert any(n.startswith("new-4.") for n in names)
    listed = (out / "changes-9.1.svg").read_text(encoding="utf-8")
    assert "RS-9:1" in listed
    marked = "".join(p.read_text(encoding="utf-8") for p in out.glob("new-*.svg"))
    assert 'id="REVISION"' in marked
    assert 'data-of="RS-9' in marked


def test_folders_are_refused(tmp_path: Path) -> None:
    done = run("compare", EXAMPLES, EXAMPLES, "-o", tmp_path / "changes")
    assert done.returncode == 2
    assert "draws the revision of one job" in done.stderr


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    done = run("compare", KITCHEN, revised(tmp_path), "-o", tmp_path / "file" / "below")
    assert done.returncode == 2
    assert "cannot" in done.stderr
    assert "Traceback" not in done.stderr
