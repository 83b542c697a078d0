"""One page of charts as SVG, in millimetres on paper: the months, the speeds, the saving beside field results.

Paper, ink and one accent, as the sheets have them; no text under 2 mm. The same study always gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from xml.sax.saxutils import escape

from galleyproof.savings.evidence import FieldResult
from galleyproof.savings.study import BINS, Month, Saving, Study
from galleyproof.savings.year import BTU_PER_KWH, BTU_PER_THERM, CASES, Case

__all__ = ["MIN_TEXT_MM", "chart_svg"]

PAPER, INK, FAINT, ACCENT = "#fcfbf7", "#26251f", "#b9b5aa", "#3d5a40"
FAMILY = "IBM Plex Sans, Arial, sans-serif"
WIDTH, HEIGHT = 279.0, 216.0
MARGIN = 14.0
MIN_TEXT_MM = 2.0
SMALL, PLAIN, LARGE = 2.4, 2.8, 4.6
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_FILLS: dict[Case, str] = {"constant volume": PAPER, "two-speed": FAINT, "demand control": ACCENT}


def chart_svg(study: Study, title: str) -> str:
    """The page of one study.

    Args:
        study: The study.
        title: Name of the job, for the heading.

    Returns:
        SVG text.
    """
    weather = study.year.weather
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}mm" height="{HEIGHT:g}mm" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" font-family="{FAMILY}" fill="{INK}">',
        f"<title>{escape(title)}: a year of demand control</title>",
        f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="{PAPER}"/>',
        _text(MARGIN, 16.0, title, LARGE, weight="600"),
        _text(MARGIN, 21.5, f"A year of demand control in the weather of {weather.station} ({weather.kind})", PLAIN),
        *_legend(WIDTH - MARGIN, 16.0),
        *_months(
            study, MARGIN, 30.0, 119.0, 62.0, "Exhaust and make-up fans, MWh a month", lambda m: m.fan_kwh / 1e3
        ),
        *_months(
            study, MARGIN + 132.0, 30.0, 119.0, 62.0, "Energy bought to heat and cool make-up air, MMBtu a month", _air
        ),
        *_speeds(study, MARGIN, 108.0, 119.0, 82.0),
        *_field(study, MARGIN + 132.0, 108.0, 119.0, 82.0),
        _text(
            MARGIN, HEIGHT - 9.0,
            "An estimate for comparing, no promise: schedule and weather are typical ones. Field results bound it; "
            "they do not shape it.", SMALL,
        ),
        "</svg>",
    ]  # fmt: skip
    return "\n".join(parts) + "\n"


def _air(month: Month) -> float:
    return (month.heat_therm * BTU_PER_THERM + (month.heat_kwh + month.cool_kwh) * BTU_PER_KWH) / 1e6


# --- marks ------------------------------------------------------------------------------------------------------


def _n(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


def _text(x: float, y: float, words: str, size: float, *, anchor: str = "start", weight: str = "400") -> str:
    assert size >= MIN_TEXT_MM
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" text-anchor="{anchor}" font-weight="{weight}">'
        f"{escape(words)}</text>"
    )


def _line(x1: float, y1: float, x2: float, y2: float, *, stroke: str = INK, width: float = 0.18) -> str:
    return (
        f'<line x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}" stroke="{stroke}" stroke-width="{_n(width)}"/>'
    )


def _box(x: float, y: float, width: float, height: float, fill: str) -> str:
    return (
        f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(max(0.0, height))}" fill="{fill}" '
        f'stroke="{INK}" stroke-width="0.18"/>'
    )


def _legend(right: float, y: float) -> Iterator[str]:
    x = right - 106.0
    for case, width in zip(CASES, (39.0, 31.0, 36.0), strict=True):
        yield _box(x, y - 2.6, 3.2, 3.2, _FILLS[case])
        yield _text(x + 4.6, y, case, PLAIN)
        x += width


def _ceiling(value: float) -> float:
    """A round number at or above a value, for the top of a scale."""
    if value <= 0.0:
        return 1.0
    power = 1.0
    while power < value:
        power *= 10.0
    while power / 10.0 >= value:
        power /= 10.0
    shares = (0.1, 0.2, 0.25, 0.4, 0.5, 0.6, 0.8, 1.0)
    return next(power * share for share in shares if power * share >= value * 0.999999)


def _scale(x: float, y: float, width: float, height: float, top: float) -> Iterator[str]:
    for n in range(5):
        at = y + height - n / 4 * height
        yield _line(x, at, x + width, at, stroke=INK if n == 0 else FAINT)
        yield _text(x - 1.4, at + 0.85, f"{top * n / 4:,.6g}", SMALL, anchor="end")


# --- panels -----------------------------------------------------------------------------------------------------


def _months(
    study: Study, x: float, y: float, width: float, height: float, title: str, value: Callable[[Month], float]
) -> Iterator[str]:
    yield _text(x, y, title, PLAIN, weight="600")
    left, top, inner_w, inner_h = x + 11.0, y + 4.0, width - 11.0, height - 10.0
    most = _ceiling(max((value(m) for m in study.months), default=0.0))
    yield from _scale(left, top, inner_w, inner_h, most)
    group = inner_w / 12
    bar = group * 0.26
    for m in study.months:
        place = left + (m.month - 1) * group + group * 0.11 + CASES.index(m.case) * bar
        tall = value(m) / most * inner_h
        yield _box(place, top + inner_h - tall, bar, tall, _FILLS[m.case])
    for n, name in enumerate(_MONTHS):
        yield _text(left + (n + 0.5) * group, top + inner_h + 3.6, name, SMALL, anchor="middle")


def _speeds(study: Study, x: float, y: float, width: float, height: float) -> Iterator[str]:
    yield _text(x, y, "Speed of the exhaust fans under demand control, hours of all fans", PLAIN, weight="600")
    left, top, inner_w, inner_h = x + 11.0, y + 4.0, width - 11.0, height - 16.0
    most = _ceiling(max(study.histogram))
    yield from _scale(left, top, inner_w, inner_h, most)
    step = inner_w / len(study.histogram)
    for n, hours in enumerate(study.histogram):
        if hours > 0.0:
            tall = hours / most * inner_h
            yield _box(left + n * step + 0.1 * step, top + inner_h - tall, 0.8 * step, tall, ACCENT)
    for n in range(0, len(BINS), 2):
        at = left + n * step
        yield _line(at, top + inner_h, at, top + inner_h + 1.0)
        yield _text(at, top + inner_h + 4.0, f"{BINS[n]:.0%}", SMALL, anchor="middle")
    resting = study.year.weather.hours - study.year.usage.running_hours
    note = f"off for {resting:,.0f} of {study.year.weather.hours:,} hours; a fan at full speed counts in the last step"
    yield _text(left, top + inner_h + 8.6, note, SMALL)


def _field(study: Study, x: float, y: float, width: float, height: float) -> Iterator[str]:
    yield _text(x, y, "Saving against constant volume, beside published results", PLAIN, weight="600")
    saving = study.savings[0]
    rows: list[tuple[str, str, FieldResult | None]] = [("All energy, this kitchen", "site_ratio", None)]
    rows += [(f"{r.short} ({r.status})", "", r) for r in study.field if r.quantity == "total saving"]
    rows += [("Fan energy, this kitchen", "fan_ratio", None)]
    rows += [(f"{r.short} ({r.status})", "", r) for r in study.field if r.quantity == "fan saving"]
    left, top = x + 61.0, y + 4.0
    inner_w, inner_h = width - 64.0, height - 10.0
    for n in range(6):
        at = left + n / 5 * inner_w
        yield _line(at, top, at, top + inner_h, stroke=FAINT)
        yield _text(at, top + inner_h + 3.6, f"{n * 20}%", SMALL, anchor="middle")
    pitch = inner_h / len(rows)
    for n, (name, key, result) in enumerate(rows):
        at = top + (n + 0.5) * pitch
        if result is None:
            yield _text(x, at + 0.9, name, SMALL, weight="600")
            yield from _own(saving, key, left, at, inner_w)
        else:
            yield _text(x + 2.0, at + 0.9, name, SMALL)
            yield from _theirs(result, left, at, inner_w)


def _clip(ratio: float) -> float:
    return min(max(ratio, 0.0), 1.0)


def _own(saving: Saving, key: str, left: float, at: float, width: float) -> Iterator[str]:
    band = saving.bands[key]
    low, high = _clip(band.low), _clip(band.high)
    yield _box(left + low * width, at - 1.1, max(0.4, (high - low) * width), 2.2, ACCENT)
    middle = left + _clip(getattr(saving, key)) * width
    yield _line(middle, at - 1.9, middle, at + 1.9, width=0.5)


def _theirs(result: FieldResult, left: float, at: float, width: float) -> Iterator[str]:
    low, typical, high = result.low_ratio, result.typical_ratio, result.high_ratio
    if low is not None or high is not None:
        begin = left + (low if low is not None else 0.0) * width
        end = left + (high if high is not None else 1.0) * width
        yield _line(begin, at, end, at, stroke=FAINT if low is None or high is None else INK, width=0.5)
    for value in (low, typical, high):
        if value is not None:
            yield _line(left + value * width, at - 1.2, left + value * width, at + 1.2, width=0.35)
