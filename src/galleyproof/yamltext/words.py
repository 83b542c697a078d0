"""How a place in a file, and what is wrong there, is put into words."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from galleyproof.yamltext import nodes
from galleyproof.yamltext.nodes import Document, Path

_BARE_NUMBER = re.compile(r"[-+]?(?:[0-9][0-9,]*\.?[0-9]*|\.[0-9]+|[0-9]+(?:[ -][0-9]+)?/[0-9]+)")
_CUT = 60


@dataclass(frozen=True, slots=True)
class Words:
    """The vocabulary of one file format.

    Attributes:
        nouns: What one entry of a list is called, by the list's key: ``{"hoods": "hood"}``.
        labels: Keys that name an entry, the best first.
        patterns: What a text must look like, by its regular expression.
        quantities: How a quantity is written, by the ``kind`` that the model's annotation carries:
            ``{"voltage": "a voltage like 208 V (units: V, mV, kV)"}``.
    """

    nouns: Mapping[str, str] = field(default_factory=dict)
    labels: tuple[str, ...] = ("tag", "name")
    patterns: Mapping[str, str] = field(default_factory=dict)
    quantities: Mapping[str, str] = field(default_factory=dict)

    def noun(self, key: str) -> str:
        """One entry of the list under ``key``: ``hoods`` gives ``hood``."""
        known = self.nouns.get(key)
        if known:
            return known
        plain = key.replace("_", " ")
        return plain[:-1] if plain.endswith("s") and not plain.endswith("ss") else "entry"

    def place(self, document: Document, path: Path) -> str:
        """A path in words: ``exhaust fan EF-2: drive: motor: volts``."""
        parts: list[str] = []
        for depth, step in enumerate(path):
            if isinstance(step, str):
                parts.append(step)
                continue
            key = str(path[depth - 1]) if depth else ""
            label = self._label(document.node(path[: depth + 1]))
            if label is None and key not in self.nouns:
                parts.append(f"entry {step + 1}")
            else:
                # "exhaust fan EF-1" says all that "exhaust_fans: exhaust fan EF-1" would
                parts[-1:] = [f"{self.noun(key)} {label or step + 1}"]
        return ": ".join(parts)

    def missing_unit(self, text: str, kind: str | None) -> str | None:
        """What to say to a bare number where a quantity stands; None when it is no bare number."""
        if kind is None or kind not in self.quantities or not _BARE_NUMBER.fullmatch(text.strip()):
            return None
        return f"{cut(text)!r} needs a unit: write {self.quantities[kind]}"

    def _label(self, node: nodes.Node | None) -> str | None:
        if isinstance(node, nodes.Mapping):
            for key in self.labels:
                entry = node.entries.get(key)
                if entry and isinstance(entry.value, nodes.Scalar) and entry.value.text:
                    return cut(entry.value.text)
        return None


def cut(text: str) -> str:
    """A value short enough for a message."""
    flat = " ".join(text.split())
    return flat if len(flat) <= _CUT else f"{flat[: _CUT - 3]}..."


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word closest to ``word`` when one is close at all; letter case counts least."""
    folded: dict[str, str] = {}
    for one in known:
        folded.setdefault(one.casefold().replace("-", "_").replace(" ", "_"), one)
    if len(word) > 4 * _CUT:
        return None
    asked = word.casefold().replace("-", "_").replace(" ", "_")
    # Half the letters of "Z2" are those of "Z1"; a short word has no more to go by.
    close = difflib.get_close_matches(asked, list(folded), n=1, cutoff=0.6 if len(asked) > 3 else 0.5)
    if close:
        return folded[close[0]]
    # "speed" for "min_speed": the shorter word whole inside the longer one.
    inside = [
        one for fold, one in folded.items() if min(len(fold), len(asked)) >= 4 and (asked in fold or fold in asked)
    ]
    return inside[0] if len(inside) == 1 else None


def hint(word: str, known: Iterable[str]) -> str:
    """``; nearest: 'x'``, or nothing."""
    close = nearest(word, known)
    return f"; nearest: {close!r}" if close else ""


def either(words: Iterable[str]) -> str:
    """``'a', 'b' or 'c'``."""
    quoted = [repr(w) for w in words]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"
