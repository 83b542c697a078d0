"""libngspice, the shared library of an open general-purpose circuit simulator, by ctypes.

A reference for the project's own solver and nothing more. The library answers 0 for a bad or singular circuit too,
so every message it sends is scanned.
"""

from __future__ import annotations

import ctypes as c
import re
from collections.abc import Iterable
from functools import cache

LIBRARY = "libngspice.so.0"
_BAD = re.compile(r"singular|error|fatal|unknown|no convergence|timestep too small|cannot|too small|gmin", re.I)


class SpiceError(RuntimeError):
    """The simulator is missing, or complained."""


class _Complex(c.Structure):
    _fields_ = (("real", c.c_double), ("imag", c.c_double))


class _Vector(c.Structure):
    _fields_ = (
        ("name", c.c_char_p),
        ("type", c.c_int),
        ("flags", c.c_short),
        ("real", c.POINTER(c.c_double)),
        ("complex", c.POINTER(_Complex)),
        ("length", c.c_int),
    )


_SAY = c.CFUNCTYPE(c.c_int, c.c_char_p, c.c_int, c.c_void_p)
_EXIT = c.CFUNCTYPE(c.c_int, c.c_int, c.c_bool, c.c_bool, c.c_int, c.c_void_p)
_DATA = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_int, c.c_int, c.c_void_p)
_START = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_int, c.c_void_p)
_THREAD = c.CFUNCTYPE(c.c_int, c.c_bool, c.c_int, c.c_void_p)


class Spice:
    """The simulator; the library holds one per process, so take it from ``spice()``."""

    def __init__(self) -> None:
        try:
            self._lib = c.CDLL(LIBRARY)
        except OSError as error:
            raise SpiceError(f"{LIBRARY} is missing; install it with scripts/test-tools ({error})") from None
        self._lib.ngGet_Vec_Info.restype = c.POINTER(_Vector)
        self._lib.ngGet_Vec_Info.argtypes = [c.c_char_p]
        self._lib.ngSpice_AllVecs.restype = c.POINTER(c.c_char_p)
        self._lib.ngSpice_AllVecs.argtypes = [c.c_char_p]
        self._lib.ngSpice_CurPlot.restype = c.c_char_p
        self._lib.ngSpice_Command.argtypes = [c.c_char_p]
        self._lib.ngSpice_Circ.argtypes = [c.POINTER(c.c_char_p)]
        self.said: list[str] = []
        self._exited = False

        def say(text: bytes, _number: int, _user: int | None) -> int:
            self.said.append(text.decode(errors="replace"))
            return 0

        def leave(_status: int, _now: bool, _quit: bool, _number: int, _user: int | None) -> int:
            self._exited = True
            return 0

        # kept alive with the object: the library calls them as long as it lives
        self._calls = (
            _SAY(say),
            _SAY(lambda *_: 0),
            _EXIT(leave),
            _DATA(lambda *_: 0),
            _START(lambda *_: 0),
            _THREAD(lambda *_: 0),
        )
        if self._lib.ngSpice_Init(*self._calls, None) != 0:
            raise SpiceError("the simulator did not start: " + " / ".join(self.said))
        self._loaded = False

    # steps -------------------------------------------------------------------------------------------------
    def command(self, line: str) -> None:
        """Run one command.

        Raises:
            SpiceError: If the simulator returns an error or says anything that sounds like one.
        """
        self.said.clear()
        code = self._lib.ngSpice_Command(line.encode())
        self._scan(line, code)

    @staticmethod
    def prepared(text: str) -> c.Array[c.c_char_p]:
        """A netlist as the library takes it."""
        lines = [line.encode() for line in text.splitlines() if line]
        if not any(line[:1].isalpha() for line in lines[1:]):
            # the library does not survive running one
            raise SpiceError("a netlist without elements")
        return (c.c_char_p * (len(lines) + 1))(*lines, None)

    def load(self, netlist: str | c.Array[c.c_char_p]) -> None:
        """Take a netlist; it replaces the one before."""
        self.unload()
        array = self.prepared(netlist) if isinstance(netlist, str) else netlist
        self.said.clear()
        code = self._lib.ngSpice_Circ(array)
        self._loaded = True
        self._scan("netlist", code)

    def unload(self) -> None:
        """Forget the netlist and all results."""
        if self._loaded:
            self._lib.ngSpice_Command(b"destroy all")
            self._lib.ngSpice_Command(b"remcirc")
            self._loaded = False

    def _scan(self, what: str, code: int) -> None:
        bad = [line for line in self.said if _BAD.search(line)]
        if code != 0 or bad or self._exited:
            raise SpiceError(f"{what}: code {code}: " + " / ".join((bad or self.said)[:4]))

    # results -----------------------------------------------------------------------------------------------
    def volts(self, nodes: Iterable[str]) -> dict[str, complex]:
        """Potentials of nodes in the last run. [V]"""
        found: dict[str, complex] = {}
        for node in nodes:
            if node == "0":
                found[node] = 0j
                continue
            pointer = self._lib.ngGet_Vec_Info(node.lower().encode())
            if not pointer or pointer.contents.length != 1:
                raise SpiceError(f"the last run has no single value for node {node}")
            vector = pointer.contents
            if vector.complex:
                found[node] = complex(vector.complex[0].real, vector.complex[0].imag)
            else:
                found[node] = complex(vector.real[0])
        return found

    def run(self, form: str, frequency_hz: float) -> None:
        """``op`` for DC, one frequency for AC."""
        self.command("op" if form == "dc" else f"ac lin 1 {frequency_hz!r} {frequency_hz!r}")

    def solve(self, text: str, form: str, frequency_hz: float, nodes: Iterable[str]) -> dict[str, complex]:
        """Load, run and read. [V]"""
        self.load(text)
        self.run(form, frequency_hz)
        return self.volts(nodes)


@cache
def spice() -> Spice:
    """The one simulator of this process."""
    return Spice()
