"""Compile the inner loop of the study of slips while the project is built or installed.

`src/galleyproof/proof/walk.c` knows nothing of Python: it becomes a plain shared library that is loaded with ctypes.
Where there is no C compiler everything installs and gives the same results; the study is slower.
"""

import os
import shlex
import shutil
import subprocess
import tempfile
import zlib
from pathlib import Path
from typing import Any

from hatchling.builders.config import BuilderConfig
from hatchling.builders.hooks.plugin.interface import BuildHookInterface
from packaging.tags import sys_tags

FOLDER = "src/galleyproof/proof"
SOURCE = f"{FOLDER}/walk.c"
LIBRARY = "_walk.so"
FLAGS = (
    *("-std=gnu11", "-O3", "-fno-math-errno", "-fcx-limited-range", "-shared", "-fPIC"),
    *("-Wall", "-Wextra", "-Werror=implicit"),
)
# What walk.c takes from the C library: a compiler without these headers is as good as none.
PROBE = "#include <complex.h>\n#include <math.h>\n#include <stdint.h>\n#include <string.h>\nint probe(void);\n"
SLOWER = "the study of slips takes its slower way"


class CompiledStudy(BuildHookInterface[BuilderConfig]):
    """Puts the library into a wheel, or beside its source for an editable install."""

    _made: tempfile.TemporaryDirectory[str] | None = None

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile, and say in `build_data` what the wheel holds and which machines it is for.

        Raises:
            RuntimeError: the compiler works but refuses walk.c; with what it printed.
        """
        if self.target_name != "wheel":
            return
        compiler = found_compiler()
        if compiler is None:
            self.app.display_warning(f"no C compiler found (cc, gcc, clang or $CC): {SLOWER}")
        elif version == "editable":
            self._put_beside_source(compiler)
        else:
            self._put_into_wheel(compiler, build_data)

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """Take the compiled library away again once it is in the wheel."""
        if self._made is not None:
            self._made.cleanup()

    def _put_beside_source(self, compiler: list[str]) -> None:
        folder = Path(self.root, FOLDER)
        try:
            # A process may have the old library loaded: it keeps it, since the new one is renamed into its place.
            with tempfile.TemporaryDirectory(prefix=".walk-", dir=folder) as made:
                library = Path(made, LIBRARY)
                if self._compiled(compiler, library):
                    library.replace(folder / LIBRARY)
        except OSError as error:
            self.app.display_warning(f"{FOLDER}/{LIBRARY} cannot be written ({error.strerror}): {SLOWER}")

    def _put_into_wheel(self, compiler: list[str], build_data: dict[str, Any]) -> None:
        # Not beside the source: a wheel may be built from a tree that is only read.
        self._made = tempfile.TemporaryDirectory(prefix="walk-")
        library = Path(self._made.name, LIBRARY)
        if not self._compiled(compiler, library):
            return
        build_data["force_include"][str(library)] = f"galleyproof/proof/{LIBRARY}"
        build_data["pure_python"] = False
        # Any Python 3 may load it, on this kind of machine. The tags that promise more, to run with older C libraries
        # too, are passed over, as hatchling does where it finds the tag by itself.
        platform = next(t.platform for t in sys_tags() if not t.platform.startswith(("manylinux", "musllinux")))
        build_data["tag"] = f"py3-none-{platform}"

    def _compiled(self, compiler: list[str], library: Path) -> bool:
        """Whether the library was made; if not, the compiler is not whole and a warning says so."""
        mark = zlib.crc32(Path(self.root, SOURCE).read_bytes())
        done = run([*compiler, *FLAGS, f"-DSOURCE_MARK={mark}u", SOURCE, "-o", str(library), "-lm"], self.root)
        if done.returncode == 0:
            return True
        printed = (done.stderr + done.stdout).strip()
        probe = library.with_name("probe.c")
        probe.write_text(PROBE, encoding="ascii")
        if run([*compiler, "-shared", "-fPIC", probe.name, "-o", "probe.so", "-lm"], str(library.parent)).returncode:
            self.app.display_warning(f"{shlex.join(compiler)} compiles nothing here: {SLOWER}\n{printed}")
            return False
        message = f"{shlex.join(compiler)} could not compile {SOURCE}:\n{printed}"
        raise RuntimeError(message)


def found_compiler() -> list[str] | None:
    """The words that call the C compiler: those of CC where it is set, else the first of the usual names."""
    asked = shlex.split(os.environ.get("CC", ""))
    for words in [asked] if asked else [["cc"], ["gcc"], ["clang"]]:
        if shutil.which(words[0]):
            return words
    return None


def run(command: list[str], folder: str) -> subprocess.CompletedProcess[str]:
    """One call of the compiler, with what it printed."""
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, errors="replace", check=False)
