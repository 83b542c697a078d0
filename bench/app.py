"""The app as people meet it: a real server on its own port, with a thousand jobs and twenty people.

Every person loads a page, looks at it for about a second, and loads the next one; each page is asked for often enough
that its 95th percentile means something. Whoever runs the bench shares its processor with the server, so the figures
are the worse for it, never the better.
"""

from __future__ import annotations

import random
import re
import tempfile
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path
from time import perf_counter, sleep

import httpx2 as httpx

from bench.figures import Figure, at_most
from bench.serving import serving
from galleyproof.store.database import Database
from galleyproof.store.jobs import add_job
from galleyproof.store.people import LOCAL
from galleyproof.store.upgrade import bring_up_to_date

JOBS, PEOPLE, SECONDS, LOOK_S = 1000, 20, 60.0, 1.0
PAGES = ("line-up", "air", "sizing", "drawings", "sequence", "check-out", "revisions", "issued")
TOKEN = re.compile(r'"x-form-token": "([^"]+)"')
EDITS = 5


def fill(folder: Path, examples: Path) -> dict[str, int]:
    """A thousand jobs: the three good examples, each under its number, and copies of the two smaller ones."""
    db = Database(f"sqlite:///{folder / 'jobs.db'}")
    bring_up_to_date(db)
    texts = {name: (examples / f"{name}.yaml").read_text() for name in ("ferry-cafe", "school-kitchen", "hospital")}
    numbers = {}
    with db.session() as session:
        for n in range(JOBS - len(texts)):
            name = ("ferry-cafe", "school-kitchen")[n % 2]
            add_job(session, LOCAL, texts[name], f"Saltmarrow {name} {n}", f"B-{n:04}", "A", "for the bench")
        for name, text in texts.items():
            numbers[name] = add_job(session, LOCAL, text, f"Saltmarrow {name}", "B-9", "A", "for the bench").id
    db.close()
    return numbers


def measure(examples: Path) -> Iterator[Figure]:
    """Figures of a server started for them."""
    with tempfile.TemporaryDirectory() as folder:
        start = perf_counter()
        with serving(Path(folder) / "first") as address, httpx.Client(timeout=60) as client:
            page = client.get(address, follow_redirects=True)
            page.raise_for_status()
            yield at_most("first start to the first page, its example job stored", perf_counter() - start, 3.0, "s")
        data = Path(folder) / "many"
        data.mkdir()
        numbers = fill(data, examples)
        with serving(data) as address:
            yield from _people(address, numbers)
            yield from _edit(address, numbers["hospital"])


def _people(address: str, numbers: dict[str, int]) -> Iterator[Figure]:
    took: dict[str, list[float]] = {"jobs": [], **{name: [] for name in PAGES}}
    slow: list[str] = []
    for job in numbers.values():  # what a page needs is computed once; waiting for it is measured by itself
        with httpx.Client(base_url=address, timeout=120, follow_redirects=True) as client:
            for page in PAGES:
                _until_computed(client, f"/jobs/{job}/{page}")
    stop = perf_counter() + SECONDS

    def person(seed: int) -> None:
        rng = random.Random(seed)
        with httpx.Client(base_url=address, timeout=30, follow_redirects=True) as client:
            while perf_counter() < stop:
                name = rng.choice(["jobs", *PAGES])
                path = "/jobs" if name == "jobs" else f"/jobs/{rng.choice(list(numbers.values()))}/{name}"
                start = perf_counter()
                answer = client.get(path)
                took[name].append(perf_counter() - start)
                if answer.status_code != 200:
                    slow.append(f"{path}: {answer.status_code}")
                sleep(rng.uniform(0.5, 1.5) * LOOK_S)

    threads = [threading.Thread(target=person, args=(n,)) for n in range(PEOPLE)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if slow:
        raise RuntimeError(f"pages that did not answer: {slow[:5]}")
    every = [t for times in took.values() for t in times]
    yield at_most(f"95th percentile of {len(every)} pages, {PEOPLE} people", 1000 * _p95(every), 150.0, "ms")
    for name, times in took.items():
        yield Figure(f"  {name}", f"{1000 * _p95(times):.0f} ms of {len(times)}")


def _edit(address: str, job: int) -> Iterator[Figure]:
    """Type another length of a hood, then load the page of findings until it shows the new save's."""
    slowest = 0.0
    with httpx.Client(base_url=address, timeout=120, follow_redirects=True) as client:
        for n in range(EDITS):
            page = client.get(f"/jobs/{job}/line-up/hoods")
            token, save = TOKEN.search(page.text), re.search(r'data-save="(\d+)"', page.text)
            assert token is not None
            assert save is not None
            asked = {"path": "hoods.0.length", "value": f"{120 + n} in", "based_on": int(save[1])}
            start = perf_counter()
            answer = client.post(f"/jobs/{job}/line-up-cell", json=asked, headers={"x-form-token": token[1]})
            answer.raise_for_status()
            _until_computed(client, f"/jobs/{job}/findings")
            slowest = max(slowest, perf_counter() - start)
    yield at_most(f"an edit of the hospital until its findings are shown, slowest of {EDITS}", slowest, 2.0, "s")


def _until_computed(client: httpx.Client, path: str) -> float:
    """Seconds until a page shows the results of the job as it stands, asked for again and again."""
    start = perf_counter()
    while perf_counter() - start < 120:
        answer = client.get(path)
        answer.raise_for_status()
        if "is being computed" not in answer.text:
            return perf_counter() - start
        sleep(0.05)
    raise RuntimeError(f"{path} was not computed in two minutes")


def _p95(times: Sequence[float]) -> float:
    return sorted(times)[int(0.95 * (len(times) - 1))] if times else 0.0
