"""A log as a run of QR codes: short texts that join back in any order, each with its place and its check sum.

A part is ``GPLOG1:SET:INDEX:COUNT:FORM:PAYLOAD:SUM``, all of it in the signs of the QR code's dense text mode
(ISO/IEC 18004, alphanumeric): SET the document's check sum, FORM ``Z`` deflated (RFC 1951) or ``P`` plain, PAYLOAD a
piece of the bytes in base 45 (RFC 9285), SUM the CRC-32 of everything before it.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable

from galleyproof.checkout.log import MOST_BYTES
from galleyproof.errors import InputError, Problem

MARK = "GPLOG1"
SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
"""Of base 45 and of the dense text mode. [-]"""
AROUND = len(f"{MARK}:00000000:9999:9999:Z::00000000")
"""Most characters of a part that are not payload. [-]"""
LEAST_CHARACTERS = 64
MOST_PARTS = 9999


def is_run(text: str | bytes) -> bool:
    """Whether a file looks like scanned parts, one on a line, as a scanner types them."""
    head = text[:100] if isinstance(text, str) else text[:100].decode("utf-8", "replace")
    return head.lstrip("\ufeff \t\r\n").startswith(f"{MARK}:")


def scanned(text: str | bytes) -> tuple[str, ...]:
    """Parts of a file that holds one on each line.

    Args:
        text: The file.

    Raises:
        InputError: It is not text.
    """
    try:
        plain = text.decode("utf-8-sig") if isinstance(text, bytes) else text
    except UnicodeDecodeError:
        raise InputError([Problem("codes", 0, "", "is not UTF-8 text; scan the run again")]) from None
    return tuple(line for line in plain.split("\n") if line.strip())


def split(document: str, most_characters: int) -> tuple[str, ...]:
    """A document as parts, the first one first.

    Args:
        document: A log as written.
        most_characters: What one code holds. [character]

    Raises:
        ValueError: Codes that small cannot hold it.
    """
    if most_characters < LEAST_CHARACTERS:
        raise ValueError(f"most_characters={most_characters} is too few; a code holds at least {LEAST_CHARACTERS}")
    data = document.encode()
    deflate = zlib.compressobj(9, zlib.DEFLATED, -15)
    packed = deflate.compress(data) + deflate.flush()
    form, body = ("Z", packed) if len(packed) < len(data) else ("P", data)
    # base 45 turns two bytes into three characters
    size = 2 * ((most_characters - AROUND) // 3)
    pieces = [body[i : i + size] for i in range(0, len(body), size)] or [b""]
    if len(pieces) > MOST_PARTS:
        raise ValueError(f"the log needs {len(pieces):,} codes of {most_characters} characters; use the file instead")
    name = f"{zlib.crc32(data):08X}"
    made = [f"{MARK}:{name}:{n}:{len(pieces)}:{form}:{base45(p)}" for n, p in enumerate(pieces, 1)]
    return tuple(f"{m}:{zlib.crc32(m.encode()):08X}" for m in made)


def join(parts: Iterable[str]) -> str:
    """The document of some parts, given in any order, some of them perhaps twice.

    Args:
        parts: What was scanned.

    Raises:
        InputError: A part is damaged, parts are missing (they are named), or they belong to two documents.
    """
    problems: list[Problem] = []
    found: dict[tuple[str, int, str], dict[int, bytes]] = {}
    for n, part in enumerate(parts, 1):
        try:
            name, at, count, form, piece = _part(part.strip("\r\n\t"))
        except ValueError as error:
            problems.append(Problem("codes", 0, f"code {n} of those scanned", str(error)))
            continue
        found.setdefault((name, count, form), {})[at] = piece
    if len(found) > 1:
        names = ", ".join(sorted({k[0] for k in found}))
        problems.append(Problem("codes", 0, "", f"belong to {len(found)} logs ({names}); scan one run at a time"))
    elif not found and not problems:
        problems.append(Problem("codes", 0, "", "nothing was scanned"))
    if len(found) == 1:
        ((_, count, _), pieces) = next(iter(found.items()))
        missing = [i for i in range(1, count + 1) if i not in pieces]
        if missing:
            listed = ", ".join(map(str, missing[:40])) + (" ..." if len(missing) > 40 else "")
            what = f"{len(missing)} of {count} are missing: {listed}; scan them too"
            problems.append(Problem("codes", 0, "", what))
    if problems:
        raise InputError(problems)
    ((name, count, form), pieces) = next(iter(found.items()))
    return _unpacked(b"".join(pieces[i] for i in range(1, count + 1)), form, name)


def _part(text: str) -> tuple[str, int, int, str, bytes]:
    front, _, told = text.rpartition(":")
    fields = front.split(":", 5)
    if len(fields) != 6 or fields[0] != MARK:
        raise ValueError(f"{text[:20]!r} is no part of a log; it would begin with {MARK}")
    if told != f"{zlib.crc32(front.encode()):08X}":
        raise ValueError(f"part {fields[2]} is damaged (its check sum differs); scan it again")
    _, name, index, total, form, payload = fields
    if not (index.isascii() and index.isdigit() and total.isascii() and total.isdigit() and form in ("Z", "P")):
        raise ValueError("is made by another version of the program; use the file instead")
    at, count = int(index), int(total)
    if not 1 <= at <= count <= MOST_PARTS:
        raise ValueError(f"says it is part {at} of {count}; that cannot be")
    return name, at, count, form, from_base45(payload)


def _unpacked(body: bytes, form: str, name: str) -> str:
    def refuse(what: str) -> InputError:
        return InputError([Problem("codes", 0, "", what)])

    data = body
    if form == "Z":
        inflate = zlib.decompressobj(-15)
        try:
            data = inflate.decompress(body, MOST_BYTES + 1)
        except zlib.error:
            raise refuse("do not unpack; scan the run again") from None
        if len(data) > MOST_BYTES:
            raise refuse(f"unpack to more than {MOST_BYTES // 1_000_000} MB; a log of readings does not")
    if f"{zlib.crc32(data):08X}" != name:
        raise refuse("do not give the log they name (its check sum differs); scan the run again")
    try:
        return data.decode()
    except UnicodeDecodeError:
        raise refuse("hold no text; scan the run again") from None


def base45(data: bytes) -> str:
    """Bytes in base 45 (RFC 9285)."""
    found = []
    for i in range(0, len(data) - 1, 2):
        n = data[i] * 256 + data[i + 1]
        found.append(SIGNS[n % 45] + SIGNS[n // 45 % 45] + SIGNS[n // 2025])
    if len(data) % 2:
        found.append(SIGNS[data[-1] % 45] + SIGNS[data[-1] // 45])
    return "".join(found)


def from_base45(text: str) -> bytes:
    """Bytes from base 45.

    Raises:
        ValueError: It is no base 45.
    """
    found = bytearray()
    for i in range(0, len(text), 3):
        piece = text[i : i + 3]
        digits = [SIGNS.find(c) for c in piece]
        n = sum(d * 45**k for k, d in enumerate(digits))
        if len(piece) == 1 or -1 in digits or n >= 256 ** (len(piece) - 1):
            raise ValueError(f"{piece!r} is not base 45; scan the code again")
        found += n.to_bytes(len(piece) - 1, "big")
    return bytes(found)
