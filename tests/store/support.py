"""Jobs, people and readings for the tests of the store."""

from __future__ import annotations

import hashlib
import json
from uuid import uuid4

from galleyproof.checkout.log import Entry, fingerprint
from galleyproof.store.jobs import add_job, save_job
from galleyproof.store.people import Role, Who

ANN = Who("Ann Reed", Role.ENGINEER)
BO = Who("Bo Hart", Role.ENGINEER)


def titles(text):
    """What a text calls itself; the tests' texts begin with it."""
    return (text.splitlines()[0] if text else "none", "S-1", "A")


def add(session, text="one", who=ANN):
    return add_job(session, who, text, *titles(text), "as drawn").id


def save(session, job, text, based_on, who=ANN, said=""):
    return save_job(session, who, job, text, based_on, *titles(text), said or f"wrote {text}")


def entry(text="one", **given):
    """A reading as a tablet makes it."""
    made = {
        "id": uuid4().hex,
        "job": fingerprint(text),
        "job_name": "Saltmarrow trial",
        "probe": "dead: CP1-X1:1 CP1-X1:2",
        "read": "0 ohm",
        "taken_at": "2026-11-25T14:05:09+01:00",
        "sequence": 1,
        "device": "d" * 32,
        "by": "Cy Moss",
    }
    return Entry.model_validate({**made, **given})


def package(revision="A", body=b"the package"):
    """Files of a set with their manifest."""
    files = {"package.pdf": body, "job.yaml": b"galleyproof: 1\n"}
    listed = [{"name": n, "bytes": len(c), "sha256": hashlib.sha256(c).hexdigest()} for n, c in files.items()]
    return {**files, "manifest.json": json.dumps({"revision": revision, "status": "ISSUED", "files": listed}).encode()}
