"""Columns of somebody's schedule to values of the job: guesses that a person confirms, then entries.

Nothing is dropped: what a cell holds goes into the job as it is written, right or wrong, and the line-up shows it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from difflib import SequenceMatcher
from typing import Final

from galleyproof.job.words import JOB_WORDS
from galleyproof.units import KINDS as QUANTITIES
from galleyproof.web.lineup.edit import MAX_ENTRIES, new_entry, typed
from galleyproof.web.lineup.kinds import KINDS, VALUES, Kind, RowField, kind_named
from galleyproof.web.lineup.shapes import field_at
from galleyproof.web.lineup.sheets import Sheet
from galleyproof.web.lineup.text import Text
from galleyproof.web.lineup.workbook import VALUE_HEADS, VALUES_TITLE
from galleyproof.yamltext import Path
from galleyproof.yamltext.shapes import LeafShape, ListShape, PairsShape
from galleyproof.yamltext.tree import Raw, at, label_of, put
from galleyproof.yamltext.validate import wrong_with

__all__ = ["Brought", "Column", "Matched", "Seen", "brought_in", "guess", "looked_at", "rematched", "units_of"]

PARENT = "parent-"
"""Begins the name of a column that says what an entry stands in."""
OFTEN: Final = (
    "hoods", "hoods.appliances", "exhaust_fans", "makeup_units", "circuits", "panelboards", "fire_systems", "shutdowns",
    "routes", "dampers", "switches", "room_sensors", "hoods.sensors", "supplies",
)  # fmt: skip
"""Kinds that a strange sheet may be, the likeliest first."""

_SAYS: Final[Mapping[str, str]] = {
    "mark": "tag", "no": "tag", "id": "tag", "item": "tag", "symbol": "tag", "designation": "tag", "unit": "tag",
    "cfm": "airflow", "exhaust cfm": "airflow", "supply cfm": "airflow", "air flow": "airflow", "flow": "airflow",
    "sp": "static pressure", "esp": "static pressure", "static": "static pressure",
    "hp": "motor: power", "horsepower": "motor: power", "motor hp": "motor: power", "bhp": "air: brake power",
    "volts": "motor: volts", "voltage": "motor: volts", "v": "motor: volts", "phase": "motor: phases",
    "ph": "motor: phases", "fla": "motor: nameplate amps", "amps": "motor: nameplate amps",
    "full load amps": "motor: nameplate amps", "mca": "min circuit ampacity", "mocp": "max protection",
    "mop": "max protection", "location": "place", "serves hood": "serves", "hood served": "serves", "hoods": "serves",
    "len": "length", "l": "length", "hood length": "length", "width": "depth", "front to back": "depth",
    "type": "style", "hood type": "style", "hood style": "style", "duty level": "duty", "cooking duty": "duty",
    "kw": "load", "watts": "load", "connected load": "load", "btu h": "heat input", "gas input": "heat input",
    "btuh": "heat input", "appliance": "kind", "equipment": "kind", "description": "kind", "energy": "fuel",
    "breaker size": "breaker", "trip": "breaker", "ocp": "breaker", "panel": "panelboard", "ckt": "circuit",
    "circuit no": "circuit", "fire zone": "zone", "lights": "lights: load", "light watts": "lights: load",
    "lighting": "lights: load", "light load": "lights: load", "lights watts": "lights: load", "tracks fan": "tracks",
    "interlocked with": "tracks", "remarks": "note", "comment": "note", "notes": "note", "from": "place",
}  # fmt: skip
"""What the trade writes at the head of a column, and our own title, or the end of it."""

_SHEETS: Final[Mapping[str, str]] = {
    "hood": "hoods", "appliance": "hoods.appliances", "cooking": "hoods.appliances", "equipment": "hoods.appliances",
    "exhaust": "exhaust_fans", "fan": "exhaust_fans", "make-up": "makeup_units", "makeup": "makeup_units",
    "mau": "makeup_units", "supply air": "makeup_units", "circuit": "circuits", "panel": "circuits",
    "fire": "fire_systems", "damper": "dampers", "route": "routes", "sensor": "hoods.sensors",
}  # fmt: skip
_NUMBER = re.compile(r"[-+]?[0-9][0-9,]*\.?[0-9]*|[-+]?\.[0-9]+|[0-9]+(?:[ -][0-9]+)?/[0-9]+")
_UNITS_BY_HEAD: Final[Mapping[str, str]] = {
    "cfm": "cfm", "hp": "hp", "bhp": "hp", "volts": "V", "voltage": "V", "v": "V", "amps": "A", "fla": "A", "mca": "A",
    "mocp": "A", "mop": "A", "kw": "kW", "watts": "W", "w": "W", "in": "in", "inches": "in", "ft": "ft", "feet": "ft",
    "btu h": "Btu/h", "btuh": "Btu/h", "mm": "mm", "m": "m", "a": "A", "hz": "Hz", "f": "degF", "c": "degC",
    "in wc": "inwc", "in wg": "inwc", "in w g": "inwc", "in w c": "inwc", "wg": "inwc", "wc": "inwc", "pa": "Pa",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Column:
    """What one column is taken for.

    Attributes:
        field: Name of a field of the kind, ``parent-0`` for what the entry stands in, empty for nothing.
        unit: Unit of the numbers that stand without one; empty leaves them as they are.
    """

    field: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Matched:
    """What one sheet is taken for.

    Attributes:
        kind: Name of the kind of its rows, ``values``, or empty for a sheet that is left out.
        head: Number of the row with the titles, the first is 1; 0 without one.
        columns: One for each column.
    """

    kind: str
    head: int
    columns: tuple[Column, ...] = ()


# --- guessing -----------------------------------------------------------------------------------------------


def guess(sheet: Sheet) -> Matched:
    """What a sheet and its columns probably are; a sheet of ours is known for certain."""
    if sheet.name == VALUES_TITLE and sheet.rows[0][:3] == VALUE_HEADS:
        return Matched(VALUES, 1, tuple(Column(h) for h in VALUE_HEADS))
    own = kind_named(sheet.name)
    if own is not None and _ours(own, sheet.rows[0]):
        return Matched(own.name, 1, tuple(Column(_exact(own, title)) for title in sheet.rows[0]))
    best, most = Matched("", 0), 0.0
    hint = next((kind for word, kind in _SHEETS.items() if word in sheet.name.casefold()), "")
    for head, row in enumerate(sheet.rows[:15], 1):
        if sum(bool(cell) for cell in row) < 2:
            continue
        for rank, name in enumerate(OFTEN):
            columns, score = _columns(KINDS[name], row)
            score += (0.9 if name == hint else 0.0) - 0.01 * rank - 0.02 * head
            if score > most:
                best, most = Matched(name, head, columns), score
    if most < 1.5:
        return Matched("", 0, tuple(Column() for _ in sheet.rows[0]))
    return best


def rematched(sheet: Sheet, kind: str, head: int) -> Matched:
    """The columns of a sheet once a person has said what its rows are, and where its titles stand."""
    found = KINDS.get(kind)
    titles = sheet.rows[head - 1] if 0 < head <= len(sheet.rows) else tuple("" for _ in sheet.rows[0])
    if kind == VALUES:
        return Matched(kind, head, tuple(Column(h) for h in VALUE_HEADS))
    if found is None:
        return Matched("", head, tuple(Column() for _ in titles))
    return Matched(kind, head, _columns(found, titles)[0])


def _ours(kind: Kind, titles: tuple[str, ...]) -> bool:
    return all(_exact(kind, title) for title in titles)


def _exact(kind: Kind, title: str) -> str:
    for n, (_, noun) in enumerate(kind.parents):
        if title == noun:
            return f"{PARENT}{n}"
    found = kind.by_title.get(title)
    return found.name if found else ""


def _plain(title: str) -> str:
    return " ".join(re.findall(r"[a-z0-9]+", title.casefold()))


def _columns(kind: Kind, titles: tuple[str, ...]) -> tuple[tuple[Column, ...], float]:
    """The best field of each title, no field twice; and how well they fit."""
    fits = sorted(
        ((_fit(title, f, kind), n, f) for n, title in enumerate(titles) if title for f in _targets(kind)),
        key=lambda fit: (-fit[0], fit[1]),
    )
    taken: dict[int, RowField] = {}
    used: set[str] = set()
    score = 0.0
    for fit, n, f in fits:
        if fit < 0.62 or n in taken or f.name in used:
            continue
        taken[n] = f
        used.add(f.name)
        score += fit
    return tuple(
        Column(taken[n].name, _unit(title, taken[n])) if n in taken else Column() for n, title in enumerate(titles)
    ), score


def _targets(kind: Kind) -> Iterator[RowField]:
    for n, (_, noun) in enumerate(kind.parents):
        yield RowField((f"{PARENT}{n}",), noun, None)
    yield from kind.fields


def _fit(title: str, field: RowField, kind: Kind) -> float:
    """How well a title names a field. [0 to 1]."""
    asked = _plain(title.split("(")[0].split("[")[0]) or _plain(title)
    own = _plain(field.title)
    last = _plain(field.title.rsplit(": ", 1)[-1])
    noun = _plain(JOB_WORDS.noun(kind.lists[-1]))
    words = asked.removeprefix(f"{noun} ").removeprefix("hood ") if asked != noun else asked
    depth = 0.03 * field.title.count(": ")
    if field.keys[0].startswith(PARENT):
        return 1.0 if asked in (own, f"{own} tag", f"{own} no", f"under {own}") else 0.0
    if title == field.title or asked == own:
        return 1.0
    said = _SAYS.get(asked) or _SAYS.get(words)
    if said and (_plain(said) == own or own.endswith(f" {_plain(said)}")):
        return 0.97 - depth
    if field.name == "tag" and any(
        asked in (n, f"{n} tag", f"{n} no", f"{n} mark") for n in (noun, noun.split(" ")[-1])
    ):
        return 0.9
    if asked == last or words == last:
        return 0.93 - depth
    ratio = SequenceMatcher(None, words, last, autojunk=False).ratio()
    return 0.9 * ratio - depth if len(words) > 3 else 0.0


def _unit(title: str, field: RowField) -> str:
    """The unit a title names for the numbers below it, when its field takes one."""
    if not units_of(field):
        return ""
    kind = getattr(field.shape, "kind", "")
    found = re.findall(r"[(\[]\s*([^)\]]+?)\s*[)\]]", title)
    words: str
    for words in (*found, *title.replace(".", " ").split()[::-1], title):
        for spelling in (words.strip(), _UNITS_BY_HEAD.get(_plain(words), "")):
            unit = QUANTITIES[kind].unit(spelling) if kind in QUANTITIES else None
            if unit is not None:
                return unit.spellings[0]
    return ""


def units_of(field: RowField | None) -> tuple[str, ...]:
    """Units that numbers of a field can have."""
    shape = field.shape if field is not None else None
    if isinstance(shape, LeafShape) and shape.kind == "awg":
        return ("AWG",)
    if not isinstance(shape, LeafShape) or shape.kind is None or shape.kind not in QUANTITIES:
        return ()
    return tuple(unit.spellings[0] for unit in QUANTITIES[shape.kind].units)


# --- looking ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Seen:
    """A sheet as it would come in.

    Attributes:
        heads: Titles of the values.
        rows: Their texts as they would stand in the job; number of the row before them.
        wrong: What is wrong with a cell by itself, by (row, value).
        left_out: Titles of columns that are not taken.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    wrong: Mapping[tuple[int, int], str]
    left_out: tuple[str, ...]


def looked_at(sheet: Sheet, matched: Matched) -> Seen:
    """What would come in, with what is wrong in each cell by itself."""
    kind = KINDS.get(matched.kind)
    titles = (
        sheet.rows[matched.head - 1] if matched.head else tuple(f"column {n + 1}" for n in range(len(sheet.rows[0])))
    )
    taken = [n for n, column in enumerate(matched.columns) if column.field and n < len(titles)]
    left = tuple(titles[n] or f"column {n + 1}" for n in range(len(titles)) if n not in taken)
    heads: list[str] = []
    rows: list[tuple[int, tuple[str, ...]]] = []
    wrong: dict[tuple[int, int], str] = {}
    fields = {f.name: f for f in _targets(kind)} if kind is not None else {}
    for n in taken:
        name = matched.columns[n].field
        heads.append(fields[name].title if name in fields else name)
    for at_row, row in _rows(sheet, matched):
        texts = []
        for place, n in enumerate(taken):
            column = matched.columns[n]
            f = fields.get(column.field)
            text = _with_unit(row[n], column, f)
            texts.append(text)
            said = _wrong(text, f)
            if said:
                wrong[len(rows), place] = said
        rows.append((at_row, tuple(texts)))
    return Seen(tuple(heads), tuple(rows), wrong, left)


def _rows(sheet: Sheet, matched: Matched) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Filled rows below the titles, with their numbers."""
    taken = [n for n, column in enumerate(matched.columns) if column.field]
    for n, row in enumerate(sheet.rows[matched.head :], matched.head + 1):
        if any(row[c] for c in taken if c < len(row)):
            yield n, row


def _with_unit(text: str, column: Column, field: RowField | None) -> str:
    flat = text if field is not None and isinstance(field.shape, PairsShape) else " ".join(text.split())
    if column.unit and column.unit in units_of(field) and _NUMBER.fullmatch(flat):
        return f"{flat} {column.unit}" if column.unit != "%" else f"{flat} %"
    return flat


def _wrong(text: str, field: RowField | None) -> str:
    if not text or field is None or field.shape is None or isinstance(field.shape, PairsShape):
        return ""
    if isinstance(field.shape, ListShape):
        return wrong_with([p.strip() for p in text.split(",") if p.strip()], field.shape, JOB_WORDS)
    return wrong_with(text, field.shape, JOB_WORDS)


# --- bringing in --------------------------------------------------------------------------------------------


@dataclass
class Brought:
    """A job with what came in.

    Attributes:
        tree: What the job then holds.
        new: New entries by kind. [-]
        changed: Entries that were there and are changed by kind. [-]
        lost: Rows that found no place, each with the reason.
    """

    tree: Raw
    new: dict[str, int] = field(default_factory=dict)
    changed: dict[str, int] = field(default_factory=dict)
    lost: list[str] = field(default_factory=list)


def brought_in(text: Text, sheets: Iterable[tuple[Sheet, Matched]], *, emptied: bool) -> Brought:
    """A job with the rows of some sheets in it.

    Entries that are there with the same tag get the values of the row, others are new.

    Args:
        text: The job.
        sheets: What comes in, with what it is taken for.
        emptied: Whether lists that a sheet holds begin empty (a new job), instead of being added to.
    """
    known = [(s, m) for s, m in sheets if m.kind in KINDS or m.kind == VALUES]
    order = {VALUES: -1, **{name: n for n, name in enumerate(KINDS)}}
    known.sort(key=lambda pair: order[pair[1].kind])
    made = Brought(text.tree)
    kinds = {m.kind for _, m in known}
    if emptied:
        for name in kinds:
            if name in KINDS and len(KINDS[name].lists) == 1:
                made.tree = put(made.tree, KINDS[name].lists, [])
    for sheet, matched in known:
        if matched.kind == VALUES:
            _values(made, sheet, matched)
        else:
            _list(made, text, KINDS[matched.kind], sheet, matched, kinds)
    return made


def _values(made: Brought, sheet: Sheet, matched: Matched) -> None:
    where = {column.field: n for n, column in enumerate(matched.columns)}
    if not {"block", "key", "value"} <= set(where):
        made.lost.append(f"sheet {sheet.name}: single values need the columns block, key and value")
        return
    for n, row in _rows(sheet, matched):
        block = tuple(part for part in row[where["block"]].split(": ") if part)
        key, value = row[where["key"]], row[where["value"]]
        if not key:
            if block and at(made.tree, block) is None:
                made.tree = put(made.tree, block, {})
            continue
        place: Path = (*block, key)
        one = field_at(made.tree, place)
        if one is None:
            made.lost.append(f"sheet {sheet.name}, row {n}: a job has no value {': '.join((*block, key))} ({value})")
            continue
        found = typed(value, one.shape)
        if found is not None:
            made.tree = put(made.tree, place, found)


def _list(made: Brought, text: Text, kind: Kind, sheet: Sheet, matched: Matched, kinds: set[str]) -> None:
    fields = {f.name: f for f in kind.fields}
    for n, row in _rows(sheet, matched):
        values: list[tuple[RowField, str]] = []
        parents = [""] * len(kind.parents)
        for cell, column in zip(row, matched.columns, strict=False):
            if column.field.startswith(PARENT):
                at_parent = int(column.field.removeprefix(PARENT))
                if at_parent < len(parents):
                    parents[at_parent] = " ".join(cell.split())
            elif column.field in fields and cell:
                values.append((fields[column.field], _with_unit(cell, column, fields[column.field])))
        place = _place(made, kind, parents)
        if place is None:
            said = ", ".join(f"{f.title}: {v}" for f, v in values)
            named = " and ".join(
                f"{noun} {name or '(not named)'}" for (_, noun), name in zip(kind.parents, parents, strict=True)
            )
            made.lost.append(f"sheet {sheet.name}, row {n}: there is no {named} to put it under ({said})")
            continue
        _enter(made, text, kind, place, values, kinds)


def _place(made: Brought, kind: Kind, parents: list[str]) -> Path | None:
    """The list that a row belongs in; None when what it stands in is not there."""
    place: Path = ()
    done = 0
    for (depth, _), name in zip(kind.parents, parents, strict=True):
        place = (*place, *kind.lists[done:depth])
        done = depth
        entries = at(made.tree, place)
        entries = entries if isinstance(entries, list) else []
        n = next((i for i, entry in enumerate(entries) if label_of(entry) == name), None)
        if n is None and name.isdecimal() and 0 < int(name) <= len(entries):
            n = int(name) - 1
        if n is None and not name and len(entries) == 1:
            n = 0
        if n is None:
            return None
        place = (*place, n)
    return (*place, *kind.lists[done:])


def _enter(
    made: Brought, text: Text, kind: Kind, place: Path, values: list[tuple[RowField, str]], kinds: set[str]
) -> None:
    entries = at(made.tree, place)
    entries = entries if isinstance(entries, list) else []
    tag = next((v for f, v in values if f.keys == ("tag",)), "")
    n = next((i for i, entry in enumerate(entries) if tag and label_of(entry) == tag), None)
    if n is None and len(entries) >= MAX_ENTRIES:
        said = ", ".join(f"{f.title}: {v}" for f, v in values)
        made.lost.append(f"a list of {MAX_ENTRIES} entries takes no more ({said})")
        return
    if n is None:
        n = len(entries)
        begun = new_entry(replace_tree(text, made.tree), (*place, n))
        kept = {
            key: value
            for key, value in (begun.items() if isinstance(begun, dict) else ())
            if not isinstance(value, list) or f"{kind.name}.{key}" not in kinds
        }
        # what a list of ours says is all there is of an entry
        only = VALUES in kinds
        made.tree = put(made.tree, (*place, n), {} if only else kept)
        made.new[kind.name] = made.new.get(kind.name, 0) + 1
    else:
        made.changed[kind.name] = made.changed.get(kind.name, 0) + 1
    for f, value in values:
        if f.shape is None:
            if at(made.tree, (*place, n, *f.keys)) is None:
                made.tree = put(made.tree, (*place, n, *f.keys), {})
            continue
        found = typed(value, f.shape)
        if found is not None:
            made.tree = put(made.tree, (*place, n, *f.keys), found)


def replace_tree(text: Text, tree: Raw) -> Text:
    """The text as if it held another tree; only its tree is looked at."""
    made = replace(text, problems=())
    made.__dict__["tree"] = tree
    return made
