"""A log as a run of codes: back again in any order, and what is missing or damaged is named."""

from __future__ import annotations

import random
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from galleyproof.checkout.codes import SIGNS, base45, from_base45, is_run, join, scanned, split
from galleyproof.errors import InputError


def test_base_45_as_in_its_standard() -> None:
    """RFC 9285, sections 4.3 and 4.4."""
    assert base45(b"AB") == "BB8"
    assert base45(b"Hello!!") == "%69 VD92EX0"
    assert base45(b"base-45") == "UJCLQE7W581"
    assert from_base45("QED8WEX0") == b"ietf!"
    for bad in ("GGW", ":::", "A", "ab"):
        with pytest.raises(ValueError, match="is not base 45"):
            from_base45(bad)


@given(st.text(max_size=3000), st.integers(64, 1500), st.randoms(use_true_random=False))
@settings(max_examples=60)
def test_parts_join_in_any_order(text: str, size: int, chance: random.Random) -> None:
    parts = list(split(text, size))
    assert all(len(p) <= size and set(p) <= set(SIGNS) for p in parts)
    scanned = [*parts, *chance.choices(parts, k=3)]
    chance.shuffle(scanned)
    assert join(scanned) == text


def noise(length: int) -> str:
    return "".join(random.Random(5).choices("abcdefghijklmnopqrstuvwxyz0123456789", k=length))


def test_missing_parts_are_named() -> None:
    parts = split(noise(2000), 200)
    assert len(parts) > 6
    with pytest.raises(InputError, match=rf"2 of {len(parts)} are missing: 2, 5; scan them too"):
        join([p for n, p in enumerate(parts, 1) if n not in (2, 5)])


def test_damage_and_strangers_are_named() -> None:
    parts = list(split(noise(2000), 200))
    hurt = parts[2][:60] + ("A" if parts[2][60] != "A" else "B") + parts[2][61:]
    with pytest.raises(InputError, match=r"code 3 of those scanned: part 3 is damaged"):
        join([*parts[:2], hurt, *parts[3:]])
    with pytest.raises(InputError, match="'HELLO' is no part of a log"):
        join([*parts, "HELLO"])
    with pytest.raises(InputError, match="belong to 2 logs"):
        join([*parts, *split("other", 200)])
    with pytest.raises(InputError, match="nothing was scanned"):
        join([])
    with pytest.raises(ValueError, match="most_characters=10 is too few"):
        split("a", 10)
    with pytest.raises(ValueError, match=r"needs [\d,]+ codes of 64 characters; use the file"):
        split(noise(400_000), 64)


def made(fields: str) -> str:
    return f"{fields}:{zlib.crc32(fields.encode()):08X}"


@pytest.mark.parametrize(
    ("part", "message"),
    [
        (made("GPLOG1:0:0:1:P:"), "part 0 of 1; that cannot be"),
        (made("GPLOG1:0:2:1:P:"), "part 2 of 1; that cannot be"),
        (made("GPLOG1:0:X:1:P:"), "another version"),
        (made("GPLOG1:0:1:1:Q:"), "another version"),
        (made("GPLOG1:0:1:1:P:BB8"), "do not give the log they name"),
        (made("GPLOG1:0:1:1:Z:BB8BB8BB8"), "do not unpack|do not give"),
        (made("GPLOG1:0:1:1:P:GGW"), "not base 45"),
    ],
)
def test_parts_that_nobody_made_are_refused(part: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        join([part])


def test_a_part_that_unpacks_without_end_is_refused() -> None:
    deflate = zlib.compressobj(9, zlib.DEFLATED, -15)
    bomb = deflate.compress(bytes(40_000_000)) + deflate.flush()
    with pytest.raises(InputError, match="unpack to more than 32 MB"):
        join([made(f"GPLOG1:00000000:1:1:Z:{base45(bomb)}")])


def test_a_scanners_file_holds_one_part_on_a_line() -> None:
    parts = split(noise(900), 200)
    typed = ("\ufeff" + "\r\n".join(reversed(parts)) + "\r\n\r\n").encode()
    assert is_run(typed)
    assert join(scanned(typed)) == noise(900)
    assert not is_run('{"readings_log":1}')
    with pytest.raises(InputError, match="is not UTF-8 text"):
        scanned(b"GPLOG1:\xff")
