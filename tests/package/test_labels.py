"""Labels: the lists against the design, the QR codes read from the finished page by another library."""

from __future__ import annotations

import csv
import io
import struct
import zlib

import numpy as np
import pytest
import typst
import zxingcpp
from tests.package.support import facts_of, job_with, school, school_package

from galleyproof.package import labels


def rows_of(text: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.decode("utf-8"))))


def test_every_conductor_has_a_label_for_each_end():
    found = {(int(r["number"]), r["landed_at"], r["other_end"]) for r in rows_of(school_package()["wire-labels.csv"])}
    ends = [(c.number, str(c.a), str(c.b)) for c in school().design.conductors]
    assert found == {*ends, *((n, b, a) for n, a, b in ends)}


def test_every_place_of_every_strip_has_a_label_with_its_conductors():
    rows = rows_of(school_package()["terminal-labels.csv"])
    strips = {d.tag: d.ratings["places"] for d in school().design.devices if d.type == "terminal_strip"}
    assert len(rows) == sum(strips.values())
    for row in rows:
        numbers = {
            c.number for c in school().design.conductors if f"{row['strip']}:{row['place']}" in (str(c.a), str(c.b))
        }
        assert set(map(int, row["conductors"].split())) == numbers


def grey(png: bytes) -> np.ndarray:
    """Brightness of an 8-bit RGBA picture, by the PNG specification (RFC 2083)."""
    at, data, width, height = 8, b"", 0, 0
    while at < len(png):
        size, kind = struct.unpack(">I4s", png[at : at + 8])
        body = png[at + 8 : at + 8 + size]
        if kind == b"IHDR":
            width, height, depth, colour = struct.unpack(">IIBB", body[:10])
            assert (depth, colour) == (8, 6)
        data += body if kind == b"IDAT" else b""
        at += size + 12
    raw, step = zlib.decompress(data), width * 4
    picture = np.zeros((height, step), dtype=np.uint8)
    above = np.zeros(step, dtype=np.int64)
    for y in range(height):
        filtered = raw[y * (step + 1)]
        line = np.frombuffer(raw, np.uint8, step, y * (step + 1) + 1).astype(np.int64)
        if filtered == 2:
            line = (line + above) % 256
        elif filtered:
            done = [0] * 4
            for i in range(step):
                a, b, c = done[i], int(above[i]), int(above[i - 4]) if i >= 4 else 0
                nearest = min((abs(b - c), 0, a), (abs(a - c), 1, b), (abs(a + b - 2 * c), 2, c))[2]
                add = {1: a, 3: (a + b) // 2, 4: nearest}[filtered]
                done.append((int(line[i]) + add) % 256)
            line = np.array(done[4:], dtype=np.int64)
        picture[y] = above = line
    return picture.reshape(height, width, 4)[:, :, 0].copy()


def test_the_codes_on_the_page_open_their_conductors(monkeypatch):
    pages = []
    real = typst.compile

    def also_seen(files, **given):
        pages.extend(real(files, format="png", ppi=150.0, **given)[:1])
        return real(files, **given)

    monkeypatch.setattr(typst, "compile", also_seen)
    labels.labels_pdf(labels.label_files(school(), "https://kitchens.example/jobs/7/"))
    found = {code.text for code in zxingcpp.read_barcodes(grey(pages[0]))}
    field = sorted(c.number for c in school().design.conductors if c.made == "field")
    # four across, ten down, two for each conductor
    assert found == {f"https://kitchens.example/jobs/7/w/{n}" for n in field[:20]}


def test_without_an_address_the_code_names_job_and_number():
    row = rows_of(school_package()["wire-labels.csv"])[0]
    assert row["link"] == f"galleyproof:jobs/SM-214/w/{row['number']}"


@pytest.mark.parametrize("sign", ["=", "+", "-", "@"])
def test_a_formula_in_a_tag_is_no_formula_in_the_list(sign):
    facts = facts_of(job_with("number: SM-214", f"number: '{sign}SM 1/2'"))
    row = rows_of(labels.wire_labels(facts, "").encode())[0]
    assert " " not in row["link"]
    assert labels._harmless(f"{sign}1").startswith("'")
