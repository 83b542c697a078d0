"""Changes of a job's text one at a time: a value typed, an entry added or taken away, a block, a new tag."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from galleyproof.store.errors import RefusedError
from galleyproof.web.lineup.shapes import ROOT, field_at, fields_of, is_reference, is_single, title_of, variant
from galleyproof.web.lineup.text import Text
from galleyproof.web.lineup.view import name_of, shown
from galleyproof.yamltext import Path
from galleyproof.yamltext.emit import flow
from galleyproof.yamltext.shapes import ChoiceShape, FieldShape, ListShape, PairsShape, Shape, WordShape
from galleyproof.yamltext.tree import Raw, at, label_of, put, spelled, take

__all__ = [
    "Change",
    "add",
    "new_entry",
    "references_to",
    "remove",
    "rename",
    "set_value",
    "set_values",
    "typed",
    "users_of",
]

MAX_VALUE = 4000
"""Longest text of one value. [characters]"""
MAX_ENTRIES = 500
"""Most entries of one list. [-]"""
_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff\ud800-\udfff]")


@dataclass(frozen=True, slots=True)
class Change:
    """A changed text.

    Attributes:
        text: The new text.
        said: What was changed, in words, for the log.
        left_out: Values that went because the entry is of another kind now.
        place: Where the new entry stands, if there is one.
    """

    text: Text
    said: str
    left_out: tuple[str, ...] = ()
    place: Path = ()


def typed(value: str, shape: Shape) -> Raw:
    """What a person typed into a cell, for the text; None for nothing.

    Raises:
        RefusedError: Too long, or with signs that no text file holds.
    """
    if len(value) > MAX_VALUE:
        raise RefusedError(f"{len(value):,} characters are more than the {MAX_VALUE:,} that one value may have")
    if isinstance(shape, PairsShape):
        return _pairs(value.replace("\r\n", "\n"), shape)
    flat = " ".join(value.split())
    if _UNPRINTABLE.search(flat):
        raise RefusedError("the value holds signs that cannot be shown; type it again")
    if not flat:
        return None
    if isinstance(shape, ListShape):
        return [spelled(part, shape.item) for part in (p.strip() for p in flat.split(",")) if part]
    return spelled(flat, shape)


def _pairs(value: str, shape: PairsShape) -> Raw:
    found: dict[str, Raw] = {}
    for line in value.split("\n"):
        if not line.strip():
            continue
        key, colon, inner = line.rpartition(": ")
        if not colon:
            key, _, inner = line.partition(":")
        if _UNPRINTABLE.search(line):
            raise RefusedError("the value holds signs that cannot be shown; type it again")
        found[" ".join(key.split())] = spelled(" ".join(inner.split()), shape.value)
    return found or None


def set_value(text: Text, path: Path, value: str) -> Change:
    """A value typed into a cell; it is stored whether it is right or wrong.

    Raises:
        RefusedError: There is no such place in a job.
    """
    field = field_at(text.tree, path)
    if field is None or not path or not is_single(field.shape):
        raise RefusedError("there is no such value in the job; load the page again")
    _whole(text.tree, path[:-1])
    old, new = at(text.tree, path), typed(value, field.shape)
    if shown(old) == shown(new):
        return Change(text, "")
    tree = text.tree
    left: tuple[str, ...] = ()
    if new is None:
        tree = take(tree, path) if old is not None or _there(tree, path) else tree
    else:
        tree = put(tree, path, new)
    owner = field_at(text.tree, path[:-1])
    if owner is not None and isinstance(owner.shape, ChoiceShape) and path[-1] == owner.shape.by:
        tree, left = _fitting(tree, path[:-1], owner.shape)
    changed = text.changed(tree)
    words = name_of(changed, path) or name_of(text, path)
    return Change(changed, f"{words}: {shown(old) or 'nothing'} → {shown(new) or 'nothing'}", left)


def set_values(text: Text, values: Iterable[tuple[Path, str]]) -> Change:
    """Several values at once, as pasted from a table: one change, stored whole.

    Raises:
        RefusedError: One of them has no such place in a job; then none is set.
    """
    tree, said, places = text.tree, [], 0
    for path, value in values:
        field = field_at(tree, path)
        if field is None or not path or not is_single(field.shape):
            raise RefusedError("one of the cells is not in the job any more; load the page again")
        _whole(tree, path[:-1])
        old, new = at(tree, path), typed(value, field.shape)
        if shown(old) == shown(new):
            continue
        places += 1
        said.append(f"{name_of(text, path)}: {shown(new) or 'nothing'}")
        if new is not None:
            tree = put(tree, path, new)
        elif _there(tree, path):
            tree = take(tree, path)
    if not places:
        return Change(text, "")
    return Change(text.changed(tree), f"{places} values pasted: {'; '.join(said)}")


def _there(tree: Raw, path: Path) -> bool:
    parent = at(tree, path[:-1])
    return isinstance(parent, dict) and str(path[-1]) in parent


def _whole(tree: Raw, path: Path) -> None:
    """Refuse a place inside an entry that is not there: somebody took it away."""
    for n, step in enumerate(path):
        if isinstance(step, int):
            entries = at(tree, path[:n])
            if not isinstance(entries, list) or step >= len(entries):
                raise RefusedError("this entry is not there any more; load the page again")


def _fitting(tree: Raw, path: Path, shape: ChoiceShape) -> tuple[Raw, tuple[str, ...]]:
    """An entry of another kind now: what the new kind does not have is taken out, and told."""
    block, left = at(tree, path), []
    kind = variant(shape, block)
    if isinstance(kind, ChoiceShape) or not isinstance(block, dict):
        return tree, ()
    for key in list(block):
        field = kind.fields.get(key)  # type: ignore[union-attr]
        if field is None:
            left.append(f"{title_of(key)} {_brief(block[key])}")
            tree = take(tree, (*path, key))
            continue
        inner = at(tree, (*path, key))
        known = fields_of(field.shape)
        if isinstance(inner, dict) and known:
            for word in [w for w in inner if w not in known]:
                left.append(f"{title_of(key)}: {title_of(word)} {_brief(inner[word])}")
                tree = take(tree, (*path, key, word))
    return tree, tuple(left)


def _brief(value: Raw) -> str:
    said = shown(value) if not isinstance(value, dict) else flow(value)  # type: ignore[arg-type]
    return said if len(said) < 60 else f"{said[:57]}..."


# --- entries and blocks -------------------------------------------------------------------------------------


def add(text: Text, path: Path) -> Change:
    """A new entry of a list, or an optional block, with what can be said of it beforehand.

    Args:
        text: The job.
        path: Place of the list or block; a list's path with a number puts the entry there.

    Raises:
        RefusedError: There is no such list or block, or it has too many entries.
    """
    field = field_at(text.tree, path)
    if field is None or not path or is_single(field.shape):
        raise RefusedError("nothing can be added there; load the page again")
    _whole(text.tree, path[:-1])
    tree = text.tree
    place = path
    if isinstance(field.shape, ListShape):
        entries = at(tree, path)
        n = len(entries) if isinstance(entries, list) else 0
        place = (*path, n)
    if isinstance(place[-1], int):
        entries = at(tree, place[:-1])
        if isinstance(entries, list) and len(entries) >= MAX_ENTRIES:
            raise RefusedError(f"a list of {MAX_ENTRIES} entries takes no more")
        tree = put(tree, place, new_entry(text, place), insert=True)
    else:
        if at(tree, path) is not None:
            raise RefusedError("this is there already; load the page again")
        tree = put(tree, path, new_entry(text, path))
    changed = text.changed(tree)
    return Change(changed, f"{name_of(changed, place)}: added", place=place)


def new_entry(text: Text, place: Path) -> Raw:
    """What a new entry or block begins with: the next free tag, and what there is only one choice for."""
    if isinstance(place[-1], int):
        listed = field_at(text.tree, place[:-1])
        assert listed is not None
        assert isinstance(listed.shape, ListShape)
        shape = listed.shape.item
    else:
        field = field_at(text.tree, place)
        assert field is not None
        shape = field.shape
    return _begin(text, place, shape, _tags(text.tree))


def _begin(text: Text, place: Path, shape: Shape, used: set[str]) -> Raw:
    if isinstance(shape, ChoiceShape):
        return {}
    found: dict[str, Raw] = {}
    for key, field in fields_of(shape).items():
        if key == "tag":
            tag = _next_tag(text, place, used)
            used.add(tag)
            found[key] = tag
        elif not field.required:
            continue
        elif (word := _only(text, key, field)) is not None:
            found[key] = word
        elif isinstance(field.shape, ListShape) and not is_single(field.shape) and field.shape.least:
            found[key] = [_begin(text, (*place, key, 0), field.shape.item, used)]
    return found


def _only(text: Text, key: str, field: FieldShape) -> Raw:
    """The one thing that can stand there: the only choice, the only supply, board or zone of the job."""
    if isinstance(field.shape, WordShape):
        return spelled(next(iter(field.shape.values)), field.shape) if len(field.shape.values) == 1 else None
    lists = {"supply": "supplies", "panelboard": "panelboards"}
    if key in lists or key == "zone":
        entries = at(text.tree, (lists.get(key, "fire_systems"),))
        names = [label_of(e, "zone" if key == "zone" else "tag") for e in entries] if isinstance(entries, list) else []
        return names[0] if len(names) == 1 and names[0] else None
    return None


_LETTERS = {
    "supplies": "U-",
    "panelboards": "LP-",
    "hoods": "H-",
    "sensors": "TS-",
    "appliances": "A-",
    "exhaust_fans": "EF-",
    "proving": "AF-",
    "makeup_units": "MAU-",
    "second_masters": "SM-",
    "dampers": "D-",
    "fire_systems": "FS-",
    "shutdowns": "SD-",
    "building_alarm": "FAM-",
    "fire_outputs": "FO-",
    "room_sensors": "RT-",
    "switches": "SW-",
    "display": "OP-",
    "building_link": "BL-",
    "routes": "R-",
    "raceways": "RW-",
    "others": "OA-",
}


def _next_tag(text: Text, place: Path, used: set[str]) -> str:
    """The next tag of its list: as those there are written, counted on."""
    key = str(place[-2] if isinstance(place[-1], int) else place[-1])
    begin, n = _LETTERS.get(key, "X-"), 1
    entries = at(text.tree, place[:-1]) if isinstance(place[-1], int) else None
    if isinstance(entries, list):
        for entry in reversed(entries):
            found = re.fullmatch(r"(.*?)(\d{1,6})", label_of(entry))
            if found:
                begin, n = found[1], int(found[2]) + 1
                break
    if key == "circuits" and begin == "X-":
        boards = at(text.tree, ("panelboards",))
        begin = f"{label_of(boards[0]) or 'LP-1'}/" if isinstance(boards, list) and boards else "LP-1/"
    while f"{begin}{n}" in used:
        n += 1
    return f"{begin}{n}"


def _tags(tree: Raw) -> set[str]:
    if isinstance(tree, dict):
        own = {label_of(tree)} if label_of(tree) else set()
        return own.union(*map(_tags, tree.values()))
    return set().union(*map(_tags, tree)) if isinstance(tree, list) else set()


def remove(text: Text, path: Path) -> Change:
    """An entry or an optional block taken away.

    Raises:
        RefusedError: It is not there.
    """
    field = field_at(text.tree, path)
    if field is None or not path or at(text.tree, path) is None:
        raise RefusedError("this is not there any more; load the page again")
    tree = take(text.tree, path)
    if isinstance(path[-1], int) and at(tree, path[:-1]) == []:
        tree = take(tree, path[:-1])
    return Change(text.changed(tree), f"{name_of(text, path)}: taken away")


# --- names and who uses them --------------------------------------------------------------------------------


def references_to(text: Text, tag: str) -> tuple[Path, ...]:
    """Places that name a tag, besides where it is given."""
    return tuple(_references(text.tree, (), ROOT, tag))


def _references(tree: Raw, path: Path, shape: Shape, tag: str) -> Iterator[Path]:
    shape = variant(shape, tree)
    if isinstance(tree, dict):
        if isinstance(shape, PairsShape):
            yield from ((*path, key) for key in tree if tag in key.split(" "))
            return
        fields = fields_of(shape)
        for key, value in tree.items():
            field = fields.get(key)
            if field is None or key == "tag" or (not path and key == "issued"):
                continue
            if is_reference(field.shape):
                if value == tag and not (key == "zone" and path[:1] == ("fire_systems",)):
                    yield (*path, key)
                elif isinstance(value, list):
                    yield from ((*path, key, n) for n, one in enumerate(value) if one == tag)
            else:
                yield from _references(value, (*path, key), field.shape, tag)
    elif isinstance(tree, list) and isinstance(shape, ListShape):
        for n, value in enumerate(tree):
            yield from _references(value, (*path, n), shape.item, tag)


def users_of(text: Text, path: Path) -> tuple[str, ...]:
    """What names the tags of an entry from outside of it, in words."""
    inside = _tags(at(text.tree, path))
    zone = label_of(at(text.tree, path), "zone") if path[:1] == ("fire_systems",) and len(path) == 2 else ""
    found: dict[str, None] = {}
    for tag in sorted(inside | ({zone} if zone else set())):
        for place in references_to(text, tag):
            if place[: len(path)] != path:
                found[f"{name_of(text, place[:-1] if isinstance(place[-1], int) else place)} ({tag})"] = None
    return tuple(found)


def issued_under(text: Text, tag: str) -> int:
    """Conductor numbers already issued to an item: its tag begins their keys."""
    numbers = at(text.tree, ("issued", "conductors"))
    return sum(key.startswith(f"{tag}/") for key in numbers) if isinstance(numbers, dict) else 0


def rename(text: Text, old: str, new: str) -> Change:
    """A new tag in all places that name the old one.

    Raises:
        RefusedError: Nothing names it.
    """
    if not (old.isprintable() and new.isprintable()) or not new.strip():
        raise RefusedError("a name holds only signs that can be shown; type it again")
    new = " ".join(new.split())
    places = references_to(text, old)
    if not places:
        raise RefusedError(f"nothing names {old} any more")
    tree = text.tree
    for place in places:
        parent = at(tree, place[:-1])
        key = str(place[-1])
        if isinstance(parent, dict) and at(tree, place) != old:
            words = " ".join(new if w == old else w for w in key.split(" "))
            tree = put(tree, place[:-1], {(words if k == key else k): v for k, v in parent.items()})
        else:
            tree = put(tree, place, new)
    return Change(text.changed(tree), f"{old} is called {new} in {len(places)} more places")
