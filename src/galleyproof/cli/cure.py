"""What ``galleyproof check --cure`` proposes, and how it is written into a job file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from galleyproof.cli import text
from galleyproof.cli.files import Loaded, rewrite
from galleyproof.cli.proving import progress
from galleyproof.library.model import DeviceType
from galleyproof.review.edits import at, place_words, value_words
from galleyproof.review.search import MAX_PAPERS, Cure, find_cure
from galleyproof.review.whole import Review

if TYPE_CHECKING:
    from rich.console import Console


def cure(one: Loaded, seen: Review, library: Mapping[str, DeviceType]) -> Cure:
    """Look for the smallest change, with progress shown."""
    with progress(1, "looking for a cure") as tell:
        return find_cure(seen, library, progress=lambda tried: tell(one.name, min(1.0, tried / MAX_PAPERS)))


def write(one: Loaded, found: Cure) -> None:
    """Write a proposal into its file.

    Raises:
        InputError: It cannot be written; the file is as it was.
    """
    if found.changes:
        rewrite(one, found.job, "the changes")


def show(out: Console, one: Loaded, found: Cure, *, written: bool) -> None:
    """A proposal in words."""
    out.print()
    if not found.changes and not found.left:
        text.show(out, "Cure: nothing to clear.")
        return
    if found.changes:
        clears = f"clears {text.counted(found.cleared)}"
        text.show(out, _bold(f"Cure: {text.plural(len(found.changes), 'value')} of the job to change; {clears}"))
        made = text.table("Where", "Stands", "Shall stand", "Why", lines=True)
        for row in _rows(one, found):
            made.add_row(*row)
        text.show(out, made)
        text.show(out, _settled(found))
    for left in found.left:
        f = left.finding
        text.show(out, f"{'Not cleared' if found.changes else 'No cure'}: {f.code} {f.item}: {left.why}.")
        if f.cure:
            text.show(out, f"   What the finding asks for: {f.cure}")
    if found.changes:
        text.show(
            out,
            f"Written into {one.name}; its comments and layout are as they were."
            if written
            else f"Not written: --write puts it into {one.name}; comments and layout stay.",
        )


def _rows(one: Loaded, found: Cure) -> list[tuple[str, str, str, str]]:
    return [
        (
            place_words(one.job, c.edit.path),
            value_words(c.edit.path, at(one.job, c.edit.path)),
            value_words(c.edit.path, c.edit.value),
            c.why,
        )
        for c in found.changes
    ]


def _settled(found: Cure) -> str:
    judged = f"{text.plural(found.tried, 'changed job')} judged"
    if not found.smallest:
        return f"Taking back any one value does not suffice; a smaller change is not ruled out ({judged})."
    if found.groups > 1:
        return f"For each of {found.groups} separate findings or groups of them, no smaller change suffices ({judged})."
    return f"No smaller change that the rules know of suffices ({judged})."


def _bold(words: str) -> Any:
    from rich.text import Text

    return Text(words, style="bold")


def data(one: Loaded, found: Cure, *, written: bool) -> dict[str, Any]:
    """A proposal as data."""
    return {
        "changes": [
            {"path": list(c.edit.path), "where": where, "stands": stands, "shall_stand": shall, "why": why}
            for c, (where, stands, shall, why) in zip(found.changes, _rows(one, found), strict=True)
        ],
        "cleared": [{"code": f.code, "item": f.item} for f in found.cleared],
        "left": [{"code": x.finding.code, "item": x.finding.item, "why": x.why} for x in found.left],
        "tried": found.tried,
        "groups": found.groups,
        "smallest": found.smallest,
        "written": written,
    }
