"""The project built as a wheel, an editable install and a source archive, with and without a C compiler."""

import ctypes
import os
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROOF = "src/galleyproof/proof"
needs_compiler = pytest.mark.skipif(shutil.which("cc") is None, reason="no C compiler here")


@pytest.fixture
def project(tmp_path):
    """What the build reads, with a package of two files: quick to pack, and nothing beside the true source moves."""
    project = tmp_path / "project"
    (project / PROOF).mkdir(parents=True)
    for name in ("pyproject.toml", "hatch_build.py", "README.md", "LICENSE", f"{PROOF}/walk.c"):
        shutil.copy(ROOT / name, project / name)
    for folder in (PROOF, "src/galleyproof"):
        (project / folder / "__init__.py").touch()
    # As an earlier editable install leaves it: never to be packed.
    (project / PROOF / "_walk.so").write_bytes(b"of an older source")
    return project


def build(project, kind, **environment):
    """The archive that the back end makes, and all it printed."""
    call = f"import hatchling.build as b, sys; b.build_{kind}(sys.argv[1])"
    rest = {name: value for name, value in os.environ.items() if name != "CC"}
    done = subprocess.run(
        [sys.executable, "-c", call, str(project / "dist")],
        cwd=project,
        env=rest | environment,
        capture_output=True,
        text=True,
    )
    made = list((project / "dist").iterdir()) if done.returncode == 0 else []
    assert len(made) <= 1
    return (made[0] if made else None), done.stdout + done.stderr


def wheel_file(archive):
    """Lines of the file WHEEL, whose fields the specification `Binary distribution format` (PEP 427) defines."""
    (name,) = (name for name in archive.namelist() if name.endswith(".dist-info/WHEEL"))
    return archive.read(name).decode().splitlines()


def answers(library):
    """What it says to be the size of its struct [bytes]."""
    size = ctypes.CDLL(str(library)).size_of_board
    size.restype = ctypes.c_int64
    return size()


def script(path, text):
    path.write_text(f"#!/bin/sh\n{text}\n", encoding="ascii")
    path.chmod(0o755)
    return str(path)


@needs_compiler
def test_a_wheel_holds_the_library_and_names_its_platform(project, tmp_path):
    wheel, _ = build(project, "wheel")
    with zipfile.ZipFile(wheel) as archive:
        assert archive.namelist().count("galleyproof/proof/_walk.so") == 1
        assert "Root-Is-Purelib: false" in wheel_file(archive)
        library = archive.extract("galleyproof/proof/_walk.so", tmp_path)
    assert wheel.name.split("-")[2:4] == ["py3", "none"]
    assert not wheel.name.endswith("-any.whl")
    assert answers(library) > 0
    assert (project / PROOF / "_walk.so").read_bytes() == b"of an older source"


def test_without_a_compiler_the_wheel_is_for_every_machine(project, tmp_path):
    for environment in ({"PATH": str(tmp_path)}, {"CC": str(tmp_path / "no-such-compiler")}):
        wheel, printed = build(project, "wheel", **environment)
        assert "no C compiler found" in printed
        assert wheel.name.endswith("-py3-none-any.whl")
        with zipfile.ZipFile(wheel) as archive:
            assert "Root-Is-Purelib: true" in wheel_file(archive)
            assert [name for name in archive.namelist() if "walk" in name] == ["galleyproof/proof/walk.c"]


def test_a_compiler_that_compiles_nothing_is_as_good_as_none(project, tmp_path):
    wheel, printed = build(project, "wheel", CC=script(tmp_path / "bare", "echo 'no math.h here' >&2; exit 1"))
    assert wheel.name.endswith("-py3-none-any.whl")
    assert "compiles nothing here" in printed
    assert "no math.h here" in printed


@needs_compiler
@pytest.mark.parametrize("kind", ["wheel", "editable"])
def test_a_source_that_does_not_compile_is_an_error_with_what_the_compiler_said(project, kind):
    with (project / PROOF / "walk.c").open("a", encoding="ascii") as source:
        source.write("\nint wrong(void) { return no_such_name; }\n")
    made, printed = build(project, kind)
    assert made is None
    assert "could not compile src/galleyproof/proof/walk.c" in printed
    assert "no_such_name" in printed


@needs_compiler
def test_an_editable_install_has_the_library_beside_its_source(project):
    beside = project / PROOF / "_walk.so"
    # Open as in a process that has it loaded: the file behind it must stay what it is.
    with beside.open("rb") as loaded:
        _, printed = build(project, "editable")
        assert loaded.read() == b"of an older source"
    assert answers(beside) > 0
    assert sorted(path.name for path in beside.parent.iterdir()) == ["__init__.py", "_walk.so", "walk.c"]
    assert "slower" not in printed


@needs_compiler
def test_an_editable_install_from_a_folder_that_takes_no_file(project):
    # A folder in the library's place: it cannot be replaced, by whatever user.
    beside = project / PROOF / "_walk.so"
    beside.unlink()
    (beside / "in-the-way").mkdir(parents=True)
    made, printed = build(project, "editable")
    assert made is not None
    assert "_walk.so cannot be written" in printed


def test_a_source_archive_carries_what_compiles_and_compiles_nothing(project, tmp_path):
    called = tmp_path / "called"
    made, _ = build(project, "sdist", CC=script(tmp_path / "compiler", f"touch {called}; exit 1"))
    assert not called.exists()
    with tarfile.open(made) as archive:
        names = {name.split("/", 1)[1] for name in archive.getnames()}
    assert {"hatch_build.py", f"{PROOF}/walk.c"} <= names
    assert not any(name.endswith(".so") for name in names)
