"""The table of types in docs/device-types.md: ``python -m tests.library.type_table`` writes it anew."""

import re
from collections.abc import Iterable
from itertools import groupby
from pathlib import Path

from galleyproof.library.model import DeviceType
from galleyproof.library.reader import read_types, shipped_files

PAGE = Path(__file__).parents[2] / "docs" / "device-types.md"
BEGIN, END = "<!-- table of types: begin -->", "<!-- table of types: end -->"


def marks(kind: DeviceType) -> str:
    """Terminal marks; neighbours that differ in their number only are joined: ``B1+ to B8+``."""

    def stem(mark: str) -> str:
        # relay outputs 11 to 84: the last digit says which of the three; a lone 1, 2, 3 is a plain count
        if len(kind.terminals) > 30 and re.fullmatch(r"\d\d", mark):
            return f"#{mark[1]}"
        return re.sub(r"^([A-Z])\d", r"\1#", mark) if len(kind.terminals) > 30 else mark

    ordered = [t.mark for t in kind.terminals]
    first = {stem(m): i for i, m in reversed(list(enumerate(ordered)))}
    runs = []
    for _, run in groupby(sorted(ordered, key=lambda m: first[stem(m)]), key=stem):
        members = list(run)
        runs.append(f"`{members[0]}`" if len(members) == 1 else f"`{members[0]}` to `{members[-1]}`")
    return " ".join(runs) if all(" to " not in r for r in runs) else ", ".join(runs)


def rows(kinds: Iterable[DeviceType]) -> list[str]:
    lines = ["| Type | What | Letter | Terminals | States | Default | Behaviour |", "|---|---|---|---|---|---|---|"]
    for kind in kinds:
        states = [f"`{n}`{_unit(s.unit)}" for n, s in kind.ratings.items() if s.default is None]
        given = [
            f"`{n}` {s.default:g}{_unit(s.unit)}"
            if isinstance(s.default, float)
            else f"`{n}` {s.default}{_unit(s.unit)}"
            for n, s in kind.ratings.items()
            if s.default is not None
        ]
        does = [f"`{b.do}`" for b in kind.behaviours]
        cells = [
            f"`{kind.type}`",
            kind.title,
            kind.letter,
            marks(kind),
            ", ".join(states),
            ", ".join(given),
            ", ".join(does),
        ]
        lines.append(re.sub(r" +", " ", "| " + " | ".join(cells) + " |"))
    return lines


def _unit(unit: str) -> str:
    return "" if unit == "-" else f" {unit}"


def table() -> str:
    parts = []
    for name, text in shipped_files().items():
        parts += [f"### `{name}`", "", *rows(read_types(text, name)), ""]
    return "\n".join(parts)


def page(old: str) -> str:
    head, rest = old.split(BEGIN)
    tail = rest.split(END)[1]
    return f"{head}{BEGIN}\n\n{table()}\n{END}{tail}"


if __name__ == "__main__":
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
