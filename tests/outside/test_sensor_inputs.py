"""Whole kitchens read what the published curves say: a resistor of a printed value in a sensor's place."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.design.support import design_of, example, supplied

from galleyproof.circuit.world import build_machine
from galleyproof.design.build import build_design
from galleyproof.library.reader import load_library
from galleyproof.tables import load

pytestmark = pytest.mark.outside
LIBRARY = load_library(
    {
        "box.yaml": """
- type: resistance_box
  title: decade resistance box
  ratings: {ohm: {unit: ohm}}
  terminals: [{mark: "1"}, {mark: "2"}]
  parts: [{part: resistor, name: r, a: "1", b: "2", ohm: $ohm}]
"""
    }
)
PLATINUM = [
    (r.number("t_degc"), 10.0 * r.number("pt100_ohm_printed"))
    for r in load("iec60751_2022_pt100").all_rows()
    if r.number_or_none("pt100_ohm_printed") and -40 <= r.number("t_degc") <= 150
]
THERMISTOR = [
    (r.number("t_degc"), r.number("curve_2_ohm_computed"))
    for r in load("common_practice_ntc_10k_printed").all_rows()
    if -30 <= r.number("t_degc") <= 120
]


def shown_degf(sensor: str, ohm: float) -> float:
    """What the school kitchen's controller shows with a resistance box in a sensor's place. [degF]"""
    job, design = example("school-kitchen"), design_of("school-kitchen")
    device = design.device_by_tag[sensor]
    box = replace(device, type="resistance_box", ratings={**device.ratings, "ohm": ohm})
    boxed = replace(design, devices=tuple(box if d.tag == sensor else d for d in design.devices))
    machine = build_machine(job, boxed, LIBRARY)
    return machine.get(supplied(job, machine), f"{sensor}>reads")


@pytest.mark.parametrize(("degc", "ohm"), PLATINUM, ids=lambda x: f"{x:g}")
def test_pt1000(degc: float, ohm: float) -> None:
    """IEC 60751 Table 1, printed values times ten; 30 ft of 18 AWG out and back add 0.4 ohm, 0.1 K, and the display
    shows tenths of a degree Fahrenheit."""
    leads_k = 2 * 0.030 * 6.5 / 3.8
    assert shown_degf("TS-3", ohm) == pytest.approx(degc * 1.8 + 32 + leads_k * 1.8, abs=0.15)


@pytest.mark.parametrize(("degc", "ohm"), THERMISTOR, ids=lambda x: f"{x:g}")
def test_ntc_curve_2(degc: float, ohm: float) -> None:
    """The curve's published coefficient set (printed copies agree within 0.15 percent, see the table's source)."""
    # at 120 degC the leads' 0.4 ohm of 388 are 0.1 percent, 0.03 K
    assert shown_degf("TS-2", ohm) == pytest.approx(degc * 1.8 + 32, abs=0.15)


def test_a_curve_2_sensor_on_an_input_set_to_curve_3() -> None:
    """Field case of the practice collection: 3.8 degF high at 120 degF, 11 at 200: it agrees only near room warmth."""
    job = example("school-kitchen")
    hoods = tuple(
        h.model_copy(update={"sensors": tuple(s.model_copy(update={"kind": "NTC 10k curve 3"}) for s in h.sensors)})
        if h.tag == "H-2"
        else h
        for h in job.hoods
    )
    mixed = job.model_copy(update={"hoods": hoods})
    design = build_design(mixed)
    at_45, at_50 = 4367.0, 3601.1  # of curve 2, printed; 120 degF is 48.89 degC, the logarithm between them
    at_120_degf = at_45 * (at_50 / at_45) ** (3.889 / 5.0)
    for ohm, shown in ((at_120_degf, 120 + 3.8), (827.0, 200 + 11.0)):
        device = design.device_by_tag["TS-2"]
        box = replace(device, type="resistance_box", ratings={**device.ratings, "ohm": ohm})
        boxed = replace(design, devices=tuple(box if d.tag == "TS-2" else d for d in design.devices))
        machine = build_machine(mixed, boxed, LIBRARY)
        assert machine.get(supplied(mixed, machine), "TS-2>reads") == pytest.approx(shown, abs=1.0)
