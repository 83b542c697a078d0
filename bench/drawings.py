"""Speed of the drawings, and their quality beside a general layout library on the same graphs.

Two comparisons, for a layout has two parts: what is drawn together where, and how the lines then run.

* *As cut*: each of our field sheets is a graph as it stands: every box a node of its size, every landing a port at its
  place on the box, every conductor an edge. The library gets our cut, so only the routing is compared.
* *In one piece*: all field sheets of a job are one graph: every device and every strip is one node, its ports in true
  order, every conductor one edge. The library draws it on one sheet of any size. We draw it on many, where devices and
  strips stand more than once; every time one stands again a reader has to look elsewhere, and that counts as a bend of
  ours, as does every reference to the sheet on which a place goes on.

The general library is elkjs (layered, orthogonal, ports fixed), fetched by npm into a scratch folder; without node or
npm the comparison is left out and the figure says so.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from time import process_time
from typing import Any

import numpy as np

from bench.figures import Figure, at_most
from galleyproof.design.build import build_design
from galleyproof.design.builder import natural
from galleyproof.drawing.model import CONDUCTORS, Layer, Polyline, Sheet, Text
from galleyproof.drawing.sheets import draw_sheets
from galleyproof.drawing.svg import write_svg
from galleyproof.job.read import read_job
from galleyproof.job.sample import job_of

ELKJS = "elkjs@0.12.1"
HOODS = (2, 4, 8, 16, 32)
ROUNDS = 3
FIELD_SERIES = ("3", "4")
SCRIPT = """
const ELK = require('elkjs');
const graphs = JSON.parse(require('fs').readFileSync(0, 'utf8'));
(async () => {
  const elk = new ELK();
  const out = [];
  for (const g of graphs) out.push(await elk.layout(g));
  console.log(JSON.stringify(out.map(g => (g.edges || []).map(e => e.sections || []))));
})();
"""


def measure(examples: Sequence[Path]) -> Iterator[Figure]:
    """Growth of the layout with the conductors, then crossings and bends per conductor."""
    counts, seconds = [], []
    warm = job_of(1)
    draw_sheets(warm, build_design(warm))  # fonts and types are read once
    for hoods in HOODS:
        job = job_of(hoods)
        design = build_design(job)
        best = float("inf")
        for _ in range(ROUNDS):
            start = process_time()
            drawing = draw_sheets(job, design)
            best = min(best, process_time() - start)
        counts.append(len(design.conductors))
        seconds.append(best)
        start = process_time()
        size = sum(len(write_svg(sheet)) for sheet in drawing)
        yield Figure(
            f"all sheets, {hoods} hoods",
            f"{best:.3f} s for {len(design.conductors)} conductors on {len(drawing.sheets)} sheets; SVG "
            f"{process_time() - start:.3f} s, {size / 1e6:.1f} MB (processor time, best of {ROUNDS})",
        )
    slope = float(np.polyfit(np.log(counts), np.log(seconds), 1)[0])
    yield at_most("growth exponent with conductors", slope, 1.3, "")
    jobs = [_field_sheets(path) for path in examples]
    sheets = [s for one in jobs for s in one]
    graphs = [graph_of(s) for s in sheets]
    edges = sum(len(g["edges"]) for g in graphs)
    ours = _count([[w.points for w in s.conductors.values()] for s in sheets])
    yield Figure(f"field sheets of {len(examples)} jobs as cut, {edges} conductors, ours", _words(ours, edges))
    theirs = _by_elk(graphs)
    if theirs is None:
        yield Figure("  the same graphs by elkjs", "not measured: node or npm is missing, or the package is not served")
        return
    other = _count(theirs)
    yield Figure("  the same graphs by elkjs", _words(other, edges))
    yield at_most("  our crossings beside theirs", float(ours[0]), float(other[0]), "")
    yield _fewer("  our bends beside theirs", ours[1], other[1])
    wholes = [whole_graph_of(one) for one in jobs]
    again = sum(_again(one) for one in jobs)
    edges = sum(len(g["edges"]) for g in wholes)
    whole = _by_elk(wholes)
    if whole is None:
        return
    other = _count(whole)
    mine = (ours[0], ours[1] + again)
    yield Figure(
        f"the same jobs in one piece, {edges} conductors, ours",
        f"{_words(mine, edges)} ({again} of the bends are boxes drawn again and references to go on)",
    )
    yield Figure("  the same jobs in one piece by elkjs", _words(other, edges))
    yield _fewer("  our crossings beside theirs", mine[0], other[0])
    yield _fewer("  our bends beside theirs", mine[1], other[1])


def _fewer(what: str, ours: int, theirs: int) -> Figure:
    return Figure(what, f"{ours}", f"fewer than {theirs}", ours < theirs)


def _again(sheets: Sequence[Sheet]) -> int:
    """How often a device or a strip stands once more, and references to where a place goes on."""
    boxes = [b.subject for s in sheets for b in _boxes(s)]
    references = [i for s in sheets for i in s.items if isinstance(i, Text) and i.content.startswith("continues on")]
    return len(boxes) - len(set(boxes)) + len(references)


def _words(count: tuple[int, int], edges: int) -> str:
    crossings, bends = count
    return f"{crossings} crossings, {bends} bends: {crossings / edges:.3f} and {bends / edges:.3f} per conductor"


def _field_sheets(path: Path) -> list[Sheet]:
    job = read_job(path.read_bytes(), path.name)
    return [s for s in draw_sheets(job, build_design(job)) if s.number.split(".")[0] in FIELD_SERIES]


def _boxes(sheet: Sheet) -> list[Polyline]:
    lines = (i for i in sheet.items if isinstance(i, Polyline) and i.layer in (Layer.DEVICE, Layer.STRIP))
    return [i for i in lines if i.closed and i.subject]


def graph_of(sheet: Sheet) -> dict[str, Any]:
    """The graph of a sheet as elkjs takes it."""
    boxes = _boxes(sheet)
    nodes: list[dict[str, Any]] = []
    ends: dict[str, list[str]] = {}
    for n, box in enumerate(boxes):
        (x0, y0), (x1, y1) = box.points[0], box.points[2]
        ports = []
        for k, p in enumerate(sheet.ports):
            if p.terminal.device != box.subject or not y0 <= p.y <= y1 or min(abs(p.x - x0), abs(p.x - x1)) > 0.01:
                continue
            side = "WEST" if abs(p.x - x0) < 0.01 else "EAST"
            name = f"p{n}.{k}"
            place = {"x": p.x - x0, "y": p.y - y0, "width": 0, "height": 0}
            ports.append({"id": name, **place, "layoutOptions": {"elk.port.side": side}})
            ends.setdefault(p.conductor, []).append(name)
        options = {"elk.portConstraints": "FIXED_POS"}
        nodes.append({"id": f"n{n}", "width": x1 - x0, "height": y1 - y0, "ports": ports, "layoutOptions": options})
    edges = [
        {"id": f"e{i}", "sources": [pair[0]], "targets": [pair[1]]}
        for i, pair in enumerate(p for p in ends.values() if len(p) == 2)
    ]
    drawn = sum(isinstance(i, Polyline) and i.layer in CONDUCTORS for i in sheet.items)
    assert len(edges) == drawn, (sheet.number, len(edges), drawn)
    options = {"elk.algorithm": "layered", "elk.direction": "RIGHT", "elk.edgeRouting": "ORTHOGONAL"}
    return {"id": sheet.number, "layoutOptions": options, "children": nodes, "edges": edges}


def whole_graph_of(sheets: Sequence[Sheet]) -> dict[str, Any]:
    """The field conductors of a job as one graph: nothing stands twice, ports of every side in true order."""
    size: dict[str, tuple[float, float]] = {}
    sides: dict[str, dict[str, list[tuple[Any, str]]]] = {}
    ends: dict[str, list[str]] = {}
    for sheet in sheets:
        for box in _boxes(sheet):
            (x0, y0), (x1, y1) = box.points[0], box.points[2]
            wide, high = size.get(box.subject, (0.0, 0.0))
            size[box.subject] = (max(wide, x1 - x0), max(high, y1 - y0))
            for p in sheet.ports:
                if p.terminal.device != box.subject or not y0 <= p.y <= y1:
                    continue
                if min(abs(p.x - x0), abs(p.x - x1)) > 0.01 or len(ends.get(p.conductor, ())) == 2:
                    continue
                name = f"{sheet.number} {p.terminal} {p.conductor}"
                side = "WEST" if abs(p.x - x0) < 0.01 else "EAST"
                mine = sides.setdefault(box.subject, {}).setdefault(side, [])
                mine.append(((natural(p.terminal.mark), natural(p.conductor)), name))
                ends.setdefault(p.conductor, []).append(name)
    nodes = []
    for tag, (wide, high) in size.items():
        ports = []
        longest = 0
        for side, mine in sides.get(tag, {}).items():
            mine.sort()
            longest = max(longest, len(mine))
            x = 0.0 if side == "WEST" else wide
            for k, (_, name) in enumerate(mine):
                place = {"x": x, "y": 5.0 * (k + 1), "width": 0, "height": 0}
                ports.append({"id": name, **place, "layoutOptions": {"elk.port.side": side}})
        options = {"elk.portConstraints": "FIXED_POS"}
        tall = max(high, 5.0 * (longest + 1))
        nodes.append({"id": f"d {tag}", "width": wide, "height": tall, "ports": ports, "layoutOptions": options})
    edges = [
        {"id": f"e{i}", "sources": [pair[0]], "targets": [pair[1]]}
        for i, pair in enumerate(p for p in ends.values() if len(p) == 2)
    ]
    drawn = {w.subject for s in sheets for w in s.conductors.values()}
    assert len(edges) == len(drawn), (len(edges), len(drawn))
    options = {"elk.algorithm": "layered", "elk.direction": "RIGHT", "elk.edgeRouting": "ORTHOGONAL"}
    return {"id": "job", "layoutOptions": options, "children": nodes, "edges": edges}


Route = tuple[tuple[float, float], ...]


def _by_elk(graphs: Sequence[dict[str, Any]]) -> list[list[Route]] | None:
    if shutil.which("node") is None or shutil.which("npm") is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        got = subprocess.run(
            ["npm", "install", "--silent", "--no-audit", "--no-fund", ELKJS],
            cwd=folder,
            capture_output=True,
            check=False,
        )
        if got.returncode:
            return None
        (Path(folder) / "layout.js").write_text(SCRIPT, encoding="utf-8")
        done = subprocess.run(
            ["node", "layout.js"], cwd=folder, input=json.dumps(graphs), capture_output=True, text=True, check=True
        )
    return [
        [
            tuple((p["x"], p["y"]) for p in (s["startPoint"], *s.get("bendPoints", ()), s["endPoint"]))
            for sections in edges
            for s in sections
        ]
        for edges in json.loads(done.stdout)
    ]


def _count(sheets: Sequence[Sequence[Route]]) -> tuple[int, int]:
    """Crossings and bends over all sheets."""
    crossings = bends = 0
    for routes in sheets:
        bends += sum(len(r) - 2 for r in routes)
        flat = [(a, b, n) for n, r in enumerate(routes) for a, b in pairwise(r)]
        for i, (a, b, n) in enumerate(flat):
            crossings += sum(n != m and _cross(a, b, c, d) for c, d, m in flat[i + 1 :])
    return crossings, bends


def _cross(a: Sequence[float], b: Sequence[float], c: Sequence[float], d: Sequence[float]) -> bool:
    """Whether two level or upright strokes cross inside both."""
    if (a[0] == b[0]) == (c[0] == d[0]):
        return False
    if a[0] == b[0]:
        a, b, c, d = c, d, a, b
    return min(a[0], b[0]) < c[0] < max(a[0], b[0]) and min(c[1], d[1]) < a[1] < max(c[1], d[1])
