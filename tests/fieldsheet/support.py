"""The ferry café's field sheet, written once for all tests of a process."""

from __future__ import annotations

import struct
import zlib
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from playwright.sync_api import BrowserContext, Page
from tests.checkout.support import NAME, plan, slips, table
from tests.design.support import EXAMPLES, LIBRARY, design_of, example

from galleyproof.drawing.sheets import draw_sheets
from galleyproof.fieldsheet.whole import Computed, write_sheet
from galleyproof.job.model import Job
from galleyproof.sizing.whole_job import size

JOB_TEXT = (EXAMPLES / f"{NAME}.yaml").read_bytes()
DESKTOP, TABLET, PHONE = (
    {"viewport": {"width": 1440, "height": 900}},
    {"viewport": {"width": 820, "height": 1180}, "has_touch": True},
    {"viewport": {"width": 360, "height": 740}, "has_touch": True},
)


@cache
def computed(name: str = NAME) -> Computed:
    job, design = example(name), design_of(name)
    drawing = draw_sheets(job, design, size(job, design, LIBRARY), library=LIBRARY)
    return Computed(table(name), slips(name), plan(name), drawing, design)


def written(job: Job | None = None) -> str:
    return write_sheet(job or example(NAME), JOB_TEXT, computed())


@cache
def whole_page() -> str:
    return written()


def put_page(folder: Path, text: str | None = None) -> str:
    """Address of the page as a file."""
    path = folder / "field sheet.html"
    path.write_text(text or whole_page(), encoding="utf-8")
    return path.as_uri()


def opened(context: BrowserContext, address: str, by: str = "R. Quayle", meter: str = "meter 7") -> Page:
    """The page, past its first form when the tablet does not know who reads."""
    page = context.pages[0] if context.pages else context.new_page()
    page.goto(address)
    if page.get_by_role("button", name="Begin").is_visible():
        page.get_by_label("Who reads").fill(by)
        page.get_by_label("Meter").fill(meter)
        page.get_by_role("button", name="Begin").click()
    return page


def go_on(page: Page) -> int:
    """Past cautions and preparations, to the next reading; its probe."""
    for _ in range(4):
        for words in ("Read, and acted on", "It stands so"):
            button = page.get_by_role("button", name=words)
            if button.is_visible():
                button.click()
                break
        else:
            break
    found: Any = page.evaluate("fieldsheet.app.lit")
    return int(found)


def take(page: Page, text: str) -> None:
    """Give a reading the way a person does: a button where there is one, else typed."""
    answer = page.locator(".probe").get_by_role("button", name=text, exact=True)
    if answer.count():
        answer.click()
        return
    page.get_by_label("What you read").fill(text)
    page.get_by_role("button", name="Take down").first.click()


def as_typed(probe: int, reading: float | str) -> str:
    """A reading as a person would give it at the page."""
    kind = table().checkout.probes[probe].kind
    if isinstance(reading, str):
        return reading[:1].upper() + reading[1:] if kind in ("look", "display") else reading
    if reading == float("inf"):
        return "OL"
    return f"{reading:.4f}"


def grey(png: bytes) -> np.ndarray:
    """Brightness of a screenshot: 8 bits a channel, with or without opacity, by the PNG specification (RFC 2083)."""
    at, data, width, height, channels = 8, b"", 0, 0, 0
    while at < len(png):
        size, kind = struct.unpack(">I4s", png[at : at + 8])
        body = png[at + 8 : at + 8 + size]
        if kind == b"IHDR":
            width, height, depth, colour = struct.unpack(">IIBB", body[:10])
            assert depth == 8
            channels = {2: 3, 6: 4}[colour]
        data += body if kind == b"IDAT" else b""
        at += size + 12
    raw, step = zlib.decompress(data), width * channels
    above = bytearray(step)
    rows = []
    for y in range(height):
        start = y * (step + 1)
        line = bytearray(raw[start + 1 : start + 1 + step])
        filtered = raw[start]
        for i in range(step if filtered else 0):
            a = line[i - channels] if i >= channels else 0
            b, c = above[i], above[i - channels] if i >= channels else 0
            p = a + b - c
            nearest = min((abs(p - a), 0, a), (abs(p - b), 1, b), (abs(p - c), 2, c))[2] if filtered == 4 else 0
            line[i] = (line[i] + {1: a, 2: b, 3: (a + b) // 2, 4: nearest}[filtered]) & 255
        rows.append(line)
        above = line
    return np.frombuffer(b"".join(rows), np.uint8).reshape(height, width, channels)[:, :, 0].copy()
