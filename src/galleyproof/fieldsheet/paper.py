"""One page from its pieces: everything inside, nothing fetched, and a content policy that lets nothing else run.

The data stands deflated (RFC 1951) in base 64, so nothing a job says is ever markup; the few words that are, are
escaped.
"""

from __future__ import annotations

import io
import json
import re
import zlib
from base64 import b64encode
from collections.abc import Iterable, Mapping
from functools import lru_cache
from hashlib import sha256
from html import escape
from importlib import resources
from typing import Any

from galleyproof.drawing.fonts import font_bytes

SCRIPTS = (
    "bytes", "tables", "words", "beliefs", "search", "log", "keep", "dom", "sheet", "drawing", "app", "work", "hunt",
    "record", "start",
)  # fmt: skip
"""Files of the page's script, in order."""
OWN_FAMILY = "Sheet Sans"
"""The part of the typeface that a page carries; the typeface's own name is reserved for the whole of it."""
LATIN = "".join(chr(c) for c in (*range(0x20, 0x7F), *range(0xA0, 0x180))) + "–—‘’“”…•Ω≤≥±×÷−°½¼¾←→✓✗\ufffd"
_FORBIDDEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")


def page(words: Mapping[str, str], blocks: Mapping[str, bytes], texts: Iterable[str]) -> str:
    """The whole page.

    Args:
        words: What stands in the markup: title, name, number, revision, panel, foot; escaped here.
        blocks: Data by its name.
        texts: Texts of the drawings, for the characters of the typeface that are needed.
    """
    # a script never closes its own element early, and the bytes do not depend on where it was checked out
    script = "(function () {\n\"use strict\";\n" + _part("third_party/qrcode.js") + "".join(
        _part(f"page/{name}.js") for name in SCRIPTS
    ) + "})();\n"  # fmt: skip
    style = _faces(frozenset("".join(texts))) + _part("page/style.css")
    for sign in ("</script", "<script", "</style", "<!--"):
        if sign in script.lower() or sign in style.lower():
            raise ValueError(f"{sign} in a script or style would change where its element ends")
    policy = (
        f"default-src 'none'; script-src {_hash(script)}; style-src {_hash(style)}; img-src data:; font-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    placed = {name: escape(_FORBIDDEN.sub("", text)) for name, text in words.items()}
    placed |= {
        "policy": policy,
        "script": script,
        "style": style,
        "notice": escape(_part("NOTICE") + "\n" + _part("third_party/qrcode.LICENSE")),
        "blocks": "\n".join(
            f'<script type="application/octet-stream" id="{name}">{_packed(data)}</script>'
            for name, data in blocks.items()
        ),
    }
    return re.sub(r"\{([a-z]+)\}", lambda m: placed[m[1]], _part("page/page.html"))


def as_json(value: Any) -> bytes:
    """A value as JSON, the same each time."""
    return json.dumps(value, ensure_ascii=True, separators=(",", ":"), allow_nan=False).encode()


def _packed(data: bytes) -> str:
    deflate = zlib.compressobj(9, zlib.DEFLATED, -15)
    return b64encode(deflate.compress(data) + deflate.flush()).decode()


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _part(name: str) -> str:
    at = resources.files("galleyproof.fieldsheet")
    for step in name.split("/"):
        at = at / step
    return at.read_text(encoding="utf-8").replace("\r\n", "\n")


@lru_cache(maxsize=8)
def _faces(characters: frozenset[str]) -> str:
    """The typeface as far as it is needed, as rules of a style."""
    made = []
    for bold, weight in ((False, 400), (True, 700)):
        data = b64encode(_subset(bold, characters)).decode()
        made.append(
            f'@font-face{{font-family:"{OWN_FAMILY}";font-weight:{weight};'
            f'src:url("data:font/woff;base64,{data}") format("woff")}}\n'
        )
    return "".join(made)


def _subset(bold: bool, characters: frozenset[str]) -> bytes:
    from fontTools.subset import Options, Subsetter  # type: ignore[import-untyped]
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    options = Options()
    options.layout_features = ["kern"]
    options.hinting = False
    options.name_IDs = [0, 1, 2, 4, 6, 13]
    options.notdef_outline = True
    font = TTFont(io.BytesIO(font_bytes(bold)), recalcTimestamp=False)
    maker = Subsetter(options)
    maker.populate(text=LATIN + "".join(sorted(characters)))
    maker.subset(font)
    for record in font["name"].names:
        if record.nameID in (1, 4, 6):
            record.string = OWN_FAMILY if record.nameID != 6 else OWN_FAMILY.replace(" ", "")
    font.flavor = "woff"
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()
