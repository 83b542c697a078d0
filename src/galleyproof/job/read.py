"""A job file to a Job, or to every problem in it at once."""

from __future__ import annotations

from galleyproof.errors import JobError, Problem
from galleyproof.job.checks import check_register
from galleyproof.job.model import Job
from galleyproof.job.register import register, register_part
from galleyproof.job.words import JOB_WORDS
from galleyproof.yamltext import Document, collect, load


def read_job(text: str | bytes, file: str = "job.yaml") -> Job:
    """Read a job file.

    Args:
        text: The whole file; bytes must be UTF-8.
        file: Its name, for messages.

    Returns:
        The job.

    Raises:
        JobError: With every problem found: of the YAML, of single values, and of how they fit together.
    """
    return read_document(load(text, file, error=JobError))


def read_document(document: Document) -> Job:
    """As ``read_job``, from a document that is already there."""
    outcome = collect(document, Job, JOB_WORDS)
    if outcome.value is not None:
        problems = (*document.problems, *check_register(register(outcome.value, document)))
        if not problems:
            return outcome.value
    else:
        problems = (*outcome.problems, *check_register(register_part(outcome, document)))
    raise JobError(problems)


def check_job(job: Job, document: Document) -> tuple[Problem, ...]:
    """Problems of a job whose single values are right; ``document`` gives their lines."""
    return check_register(register(job, document))
