"""A Job to text: a fresh file, or an old one with only the changed values replaced."""

from __future__ import annotations

from typing import Any

from galleyproof import units
from galleyproof.errors import JobError
from galleyproof.job.model import Job
from galleyproof.yamltext import collect, load
from galleyproof.yamltext.change import change
from galleyproof.yamltext.emit import document, tree_of
from galleyproof.yamltext.shapes import shape_of


def dump_job(job: Job) -> str:
    """A job as a fresh file: keys in the order of the model, units written, defaults left out.

    Args:
        job: Any job.

    Returns:
        YAML text; ``read_job`` gives an equal job.
    """
    tree = tree_of(job, shape_of(Job), quantity)
    assert isinstance(tree, dict)  # a model is a block
    return document(tree)


def update_text(old_text: str, job: Job) -> str:
    """The old text, changed only where it says something else than ``job``.

    A value that still reads the same keeps its spelling (``1-1/2 hp``); comments and layout stay.

    Args:
        old_text: A job file; it need not be free of errors, but must be YAML.
        job: What it shall say.

    Returns:
        YAML text; ``read_job`` gives a job equal to ``job``.

    Raises:
        JobError: The old text is no YAML.
    """
    old = load(old_text, "job.yaml", error=JobError)
    if old.problems:
        raise JobError(old.problems)
    text = change(old, job, quantity)
    return text if _says(text, job) else dump_job(job)


def _says(text: str, job: Job) -> bool:
    try:
        return collect(load(text, "job.yaml", error=JobError), Job).value == job
    except JobError:
        return False


def quantity(value: Any, kind: str) -> str:
    """A quantity of the model with its unit."""
    return units.format_awg(str(value)) if kind == "awg" else units.format(float(value), kind)
