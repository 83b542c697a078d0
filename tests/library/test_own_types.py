"""A user's own types stand beside the shipped ones and may replace them."""

import pytest

from galleyproof.circuit.network import build_network
from galleyproof.design.model import Design, Device, Program
from galleyproof.errors import LibraryError
from galleyproof.library.reader import load_library, read_types, shipped_files

NEW = """\
- type: bell
  title: door bell
  terminals: [{mark: "1"}, {mark: "2"}]
  parts: [{part: resistor, name: coil, a: "1", b: "2", ohm: 80}]
"""
OTHER = """\
- type: relay_24
  title: relay of ours, one changeover contact
  letter: K
  ratings: {coil_v: {unit: V, default: 24}}
  terminals: [{mark: A1}, {mark: A2}, {mark: "11"}, {mark: "14"}]
  parts:
    - {part: coil, name: coil, form: dc, a: A1, b: A2, volts: $coil_v, watts: 0.5}
    - {part: contact, name: r1_no, a: "11", b: "14"}
  behaviours: [{do: relay, form: dc, coil_part: coil, make_parts: [r1_no]}]
"""


def test_a_new_type_extends_the_library():
    library = load_library({"bell.yaml": NEW})
    assert set(library) - set(load_library()) == {"bell"}
    made = Design((Device("P-1", "bell", "", ""),), (), (), (), (), (), Program(""), "CP1")
    (branch,) = build_network(made, library).branches
    assert 1 / branch.g_dc == pytest.approx(80)


def test_a_type_of_the_same_name_replaces_the_shipped_one():
    library = load_library({"ours.yaml": OTHER, "bell.yaml": NEW.encode()})
    assert library["relay_24"].title == "relay of ours, one changeover contact"
    assert [t.mark for t in library["relay_24"].terminals] == ["A1", "A2", "11", "14"]
    made = Design((Device("K-1", "relay_24", "", ""),), (), (), (), (), (), Program(""), "CP1")
    (coil,) = build_network(made, library).branches
    assert 1 / coil.g_dc == pytest.approx(24**2 / 0.5)
    # every other type is as shipped, and the shipped library itself is as before
    shipped = load_library()
    assert {name for name in shipped if library[name] != shipped[name]} == {"relay_24"}
    assert len(shipped["relay_24"].terminals) == 8


def test_one_name_in_two_own_files_is_refused():
    with pytest.raises(LibraryError, match=r"b\.yaml: device type bell: a\.yaml holds type bell too; keep it in one"):
        load_library({"a.yaml": NEW, "b.yaml": NEW})


@pytest.mark.parametrize("name", shipped_files())
def test_a_shipped_file_can_serve_as_a_users_own(name):
    types = read_types(shipped_files()[name].decode(), name)
    assert load_library({f"copy of {name}": shipped_files()[name]}) == load_library()
    assert types
