"""The log of readings: entries are added, never changed; two logs of one job make one, and nothing is lost.

What is wrong in an entry is put right by a later one that names it; both stay. Each device numbers its entries, so a
clock that was moved does no harm to their order. Which of them stand, where two of them disagree, and what they say
to the diagnosis: `galleyproof.checkout.standing`.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import datetime
from hashlib import sha256
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from galleyproof.errors import InputError, Problem

COMPLAINT, NOTE, DONE, REPAIR, SIGNATURE = "complaint", "note", "done", "repair", "signature"
SPOKEN = (COMPLAINT, NOTE, DONE, REPAIR, SIGNATURE)
"""What an entry can be about beside a probe: what somebody noticed; a remark; a caution read or a preparation brought
about; something put right, after which what was out of tolerance has to be read again; the name under it all."""

MOST_BYTES = 32_000_000
"""Largest log that is read. [byte]"""
MOST_ENTRIES = 100_000
"""Most entries of one log. [-]"""


def _plain(text: str) -> str:
    if any(unicodedata.category(c) in ("Cc", "Cs") for c in text):
        raise ValueError("holds a control character; use plain text on one line")
    return text


def _said(text: str) -> str:
    if text != text.strip():
        raise ValueError("begins or ends with a blank; leave it out")
    return _plain(text)


def _moment(text: str) -> str:
    try:
        moment = datetime.fromisoformat(text)
        if moment.tzinfo is None:
            raise ValueError
        moment.timestamp()
    except (ValueError, OverflowError):
        raise ValueError(
            f"{text!r} is no date and time with its offset from UTC; write it like 2026-11-25T14:05:09+01:00"
        ) from None
    return text


Id = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
Print = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Name = Annotated[str, Field(min_length=1, max_length=120), AfterValidator(_said)]
MOST_READ = 1000
"""Longest text of one entry. [character]"""


class Meter(BaseModel):
    """What was read with.

    Attributes:
        name: As its owner calls it.
        low_impedance: Whether its low-impedance range was used.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    name: Name
    low_impedance: bool


class Entry(BaseModel):
    """One line of the log.

    Attributes:
        id: Made by the device, unique: 32 hexadecimal digits.
        job: SHA-256 of the job text the sheet was issued from, see ``fingerprint``.
        job_name: Name of the job, for people.
        probe: Key of a probe, or one of ``SPOKEN``.
        read: What was read, as typed; empty takes the entry named in ``replaces`` back.
        taken_at: Date and time with offset, by the device's clock.
        sequence: Number of the entry on its device. [-]
        device: Made by the device, unique: 32 hexadecimal digits.
        by: Who read.
        meter: With what; None for what needs no meter.
        replaces: Id of an entry of the same probe that this one puts right.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    id: Id
    job: Print
    job_name: Name
    probe: Annotated[str, Field(min_length=1, max_length=300), AfterValidator(_said)]
    read: Annotated[str, Field(max_length=MOST_READ), AfterValidator(_plain)]
    taken_at: Annotated[str, Field(max_length=40), AfterValidator(_moment)]
    sequence: Annotated[int, Field(ge=0, le=2**53 - 1)]
    device: Id
    by: Name
    meter: Meter | None = None
    replaces: Id | None = None

    @property
    def moment(self) -> float:
        """When, by the device's clock. [s]."""
        return datetime.fromisoformat(self.taken_at).timestamp()

    @property
    def takes_back(self) -> bool:
        """Whether it says nothing but that another one does not count."""
        return not self.read.strip()


class _Document(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)

    readings_log: Literal[1]
    entries: list[Any]


def fingerprint(job_text: str | bytes) -> str:
    """SHA-256 of a job's text in hexadecimal digits, the same whatever ends its lines or marks its beginning.

    Args:
        job_text: The job file as issued.
    """
    data = job_text.encode() if isinstance(job_text, str) else job_text
    return sha256(data.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n")).hexdigest()


# --- reading and writing --------------------------------------------------------------------------------------------


def is_log(text: str | bytes) -> bool:
    """Whether a file looks like a log of readings, not like another file; it may still be a broken one."""
    head = text[:400] if isinstance(text, str) else text[:400].decode("utf-8", "replace")
    return head.lstrip("\ufeff \t\r\n").startswith("{") and '"readings_log"' in head


def read_log(text: str | bytes, file: str = "log") -> tuple[Entry, ...]:
    """Entries of a log, in their order.

    Args:
        text: The document.
        file: Its name, for messages.

    Raises:
        InputError: With every problem of the document at once; nothing of a broken log is taken.
    """
    entries = _entries(_document(text, file), file)
    return in_order(_union(entries, file))


def _document(text: str | bytes, file: str) -> list[Any]:
    def refuse(what: str) -> InputError:
        return InputError([Problem(file, 0, "", what)])

    if len(text) > MOST_BYTES:
        raise refuse(f"is larger than {MOST_BYTES // 1_000_000} MB; a log of readings is not")
    try:
        plain = text.decode("utf-8") if isinstance(text, bytes) else text
        raw = json.loads(plain.removeprefix("\ufeff"), object_pairs_hook=_once, parse_constant=_no_constant)
    except UnicodeDecodeError:
        raise refuse("is not UTF-8 text; give the file as the tablet exported it") from None
    except (ValueError, RecursionError) as error:
        why = "nested too deeply" if isinstance(error, RecursionError) else str(error)
        raise refuse(f"is no log of readings: {why}; give the file as the tablet exported it") from None
    version = raw.get("readings_log") if isinstance(raw, dict) else None
    if isinstance(version, int) and not isinstance(version, bool) and version > 1:
        raise refuse(f"is a log of version {version}, this program reads version 1; use a newer program")
    try:
        made = _Document.model_validate(raw)
    except ValidationError as error:
        raise InputError([_problem(file, "", e) for e in error.errors()]) from None
    if len(made.entries) > MOST_ENTRIES:
        raise refuse(f"has {len(made.entries):,} entries; a log has at most {MOST_ENTRIES:,}")
    return made.entries


def _entries(rows: Sequence[Any], file: str) -> list[Entry]:
    problems: list[Problem] = []
    found: list[Entry] = []
    for n, row in enumerate(rows, 1):
        try:
            entry = Entry.model_validate(row)
        except ValidationError as error:
            problems += [_problem(file, f"entry {n}", e) for e in error.errors()]
            continue
        if entry.takes_back and entry.replaces is None:
            problems.append(Problem(file, 0, f"entry {n}: read", "is empty; only an entry that replaces one may be"))
        elif entry.replaces == entry.id:
            problems.append(Problem(file, 0, f"entry {n}: replaces", "names the entry itself; name an earlier one"))
        found.append(entry)
    if problems:
        raise InputError(problems)
    return found


def _problem(file: str, where: str, error: Any) -> Problem:
    keys = [str(k) for k in error["loc"]]
    what = str(error["msg"]).removeprefix("Value error, ")
    given = error.get("input")
    if isinstance(given, (str, int, float)) and repr(given) not in what and error["type"] != "missing":
        shown = repr(given)
        what = f"{what}; given is {shown if len(shown) <= 60 else shown[:57] + '...'}"
    return Problem(file, 0, ": ".join(w for w in (where, ".".join(keys)) if w), what)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise ValueError(f"{key!r} is given twice in one object")
        found[key] = value
    return found


def _no_constant(name: str) -> Any:
    raise ValueError(f"{name} is no value here")


def write_log(entries: Iterable[Entry]) -> str:
    """The document of some entries, one on a line, in their order; the same entries give the same text.

    Args:
        entries: The entries, each once.

    Raises:
        InputError: Two entries of one id say different things.
    """
    lines = [
        json.dumps(e.model_dump(mode="json", exclude_none=True), ensure_ascii=False, separators=(",", ":"))
        for e in in_order(_union(entries, "log"))
    ]
    return '{"readings_log":1,"entries":[\n' + ",\n".join(lines) + ("\n" if lines else "") + "]}\n"


# --- together -------------------------------------------------------------------------------------------------------


def merge(a: Iterable[Entry], b: Iterable[Entry]) -> tuple[Entry, ...]:
    """Two logs as one: every entry of both, once, in their order.

    Args:
        a: One log.
        b: The other.

    Raises:
        InputError: One id stands for two different entries; nothing is merged then.
    """
    return in_order(_union((*a, *b), "merge"))


def _union(entries: Iterable[Entry], file: str) -> list[Entry]:
    found: dict[str, Entry] = {}
    problems: list[Problem] = []
    for entry in entries:
        there = found.setdefault(entry.id, entry)
        if there != entry:
            differ = [k for k in Entry.model_fields if getattr(there, k) != getattr(entry, k)]
            what = "; ".join(f"{k} is {_short(getattr(there, k))} and {_short(getattr(entry, k))}" for k in differ)
            problems.append(
                Problem(
                    file,
                    0,
                    f"entry {entry.id}",
                    f"stands for two different entries ({what}); an entry is never changed, so one of the two logs "
                    "was edited: take the log from the tablet again",
                )
            )
    if problems:
        raise InputError(problems)
    return list(found.values())


def _short(value: object) -> str:
    said = repr(value)
    return said if len(said) <= 40 else said[:37] + "..."


def in_order(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Entries in the order they were made: each device's by its own numbers, the devices among each other by time.

    A device whose clock was moved back counts as standing at the latest time it has shown before.

    Args:
        entries: Entries in any order.
    """
    by_device: dict[str, list[Entry]] = {}
    for entry in entries:
        by_device.setdefault(entry.device, []).append(entry)
    placed: list[tuple[float, str, int, str, Entry]] = []
    for device, own in by_device.items():
        latest = float("-inf")
        for entry in sorted(own, key=lambda e: (e.sequence, e.id)):
            latest = max(latest, entry.moment)
            placed.append((latest, device, entry.sequence, entry.id, entry))
    return tuple(p[4] for p in sorted(placed, key=lambda p: p[:4]))
