"""A job's own promises, added, edited and taken away in its text."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from galleyproof.errors import InputError
from galleyproof.job.checks.promises import EFFECTS, FACTS, devices_of, items_of
from galleyproof.job.register import register
from galleyproof.store.errors import RefusedError
from galleyproof.web.lineup.edit import Change
from galleyproof.web.lineup.text import Text

__all__ = ["Known", "Typed", "known", "removed", "rows_of", "with_row"]


@dataclass(frozen=True, slots=True)
class Typed:
    """A row as a person types it.

    Attributes:
        row: Its place among the job's rows, from 0; None for a new one. [-]
        say: The promise in words.
        clause: What asks for it.
        facts: Each ``fire Z1: released``.
        effects: Device and what it does.
    """

    row: int | None = None
    say: str = ""
    clause: str = ""
    facts: tuple[str, ...] = ()
    effects: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Known:
    """What a row may speak of.

    Attributes:
        facts: Item (``fire Z1``) with the values it may have.
        devices: Device with its sort.
        effects: Sort of device with what may be expected of it.
    """

    facts: tuple[tuple[str, tuple[str, ...]], ...]
    devices: tuple[tuple[str, str], ...]
    effects: tuple[tuple[str, tuple[str, ...]], ...]


def known(text: Text) -> Known | None:
    """What rows of a job may speak of; None while its text has mistakes."""
    if text.job is None or text.document is None:
        return None
    r = register(text.job, text.document)
    facts = [(f"{kind} {item}", FACTS[kind]) for kind, items in items_of(r).items() for item in items]
    facts.append(("reset", ("not yet", "pressed")))
    return Known(tuple(facts), tuple(devices_of(r).items()), tuple(EFFECTS.items()))


def rows_of(text: Text) -> tuple[Typed, ...]:
    """The rows of a job, as a form shows them."""
    if text.job is None:
        return ()
    return tuple(
        Typed(n, row.say, row.clause, tuple(f"{k}: {v}" for k, v in row.when.items()), tuple(row.expect.items()))
        for n, row in enumerate(text.job.promises)
    )


def with_row(text: Text, typed: Typed) -> Change:
    """A row added, or put in the place of one.

    Raises:
        RefusedError: It cannot be read, or speaks of what the job does not have; the message says what to do.
    """
    rows = _rows(text)
    entry = _entry(typed)
    if typed.row is None:
        rows.append(entry)
    elif typed.row < len(rows):
        rows[typed.row] = entry
    else:
        raise RefusedError("this row is not there any more; add it as a new one")
    return _changed(text, rows, f"own promise: {typed.say}")


def removed(text: Text, row: int) -> Change:
    """A row taken away.

    Raises:
        RefusedError: It is not there.
    """
    rows = _rows(text)
    if row >= len(rows):
        raise RefusedError("this row is not there any more")
    gone = rows.pop(row)
    return _changed(text, rows, f"own promise taken away: {gone.get('say', '') if isinstance(gone, dict) else ''}")


def _rows(text: Text) -> list[Any]:
    tree = text.tree
    rows = tree.get("promises") if isinstance(tree, dict) else None
    return deepcopy(rows) if isinstance(rows, list) else []


def _entry(typed: Typed) -> dict[str, Any]:
    if not typed.say.strip():
        raise RefusedError("say the promise in words, as the sequence of operation should print it")
    when: dict[str, str] = {}
    for fact in typed.facts:
        item, _, value = fact.partition(": ")
        if item in when:
            raise RefusedError(f"{item} stands twice among the facts; one situation has one value of it")
        when[item] = value
    expect: dict[str, str] = {}
    for device, effect in typed.effects:
        if not effect.strip():
            raise RefusedError(
                f"say what {device} does: {', '.join(sorted({w for ws in EFFECTS.values() for w in ws}))}"
            )
        if device in expect:
            raise RefusedError(f"{device} stands twice among the devices; one row asks one thing of it")
        expect[device] = " ".join(effect.split())
    if not expect:
        raise RefusedError("name at least one device and what it does")
    entry: dict[str, Any] = {"say": " ".join(typed.say.split())}
    if when:
        entry["when"] = when
    entry["expect"] = expect
    if typed.clause.strip() and typed.clause.strip() != "job":
        entry["clause"] = " ".join(typed.clause.split())
    return entry


def _changed(text: Text, rows: list[Any], said: str) -> Change:
    tree = deepcopy(text.tree)
    if not isinstance(tree, dict):
        raise RefusedError("the text of this job has to be put right first; open its line-up")
    if rows:
        tree["promises"] = rows
    else:
        tree.pop("promises", None)
    try:
        new = text.changed(tree)
    except InputError as error:
        raise RefusedError(str(error)) from error
    worse = [p for p in new.problems if p not in text.problems and "promise" in p.where]
    if worse:
        raise RefusedError("; ".join(p.what for p in worse))
    return Change(new, said)
