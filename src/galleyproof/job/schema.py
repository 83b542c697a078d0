"""The job file's JSON Schema (draft 2020-12) and the tables of its page, both made from the model."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel

from galleyproof.job.meanings import MEANINGS
from galleyproof.job.model import Job
from galleyproof.job.words import JOB_WORDS
from galleyproof.job.write import quantity
from galleyproof.units import KINDS
from galleyproof.yamltext.emit import flow, tree_of
from galleyproof.yamltext.shapes import (
    BlockShape,
    ChoiceShape,
    EitherShape,
    FieldShape,
    LeafShape,
    ListShape,
    PairsShape,
    Shape,
    WordShape,
    shape_of,
)


def blocks() -> dict[str, BlockShape]:
    """Every block of a job file by the name of its model, in the order of the file."""
    found: dict[str, BlockShape] = {}

    def visit(shape: Shape) -> None:
        if isinstance(shape, BlockShape) and shape.model.__name__ not in found:
            found[shape.model.__name__] = shape
            for one in shape.fields.values():
                visit(one.shape)
        elif isinstance(shape, ListShape):
            visit(shape.item)
        elif isinstance(shape, ChoiceShape):
            for block in shape.blocks.values():
                visit(block)
        elif isinstance(shape, EitherShape):
            for block in shape.blocks:
                visit(block)

    visit(shape_of(Job))
    return found


# --- JSON Schema --------------------------------------------------------------------------------------------


def job_schema() -> dict[str, Any]:
    """The JSON Schema of a job file.

    Quantities are strings with their unit; an editor that knows JSON Schema offers keys and values and shows what
    each means. It cannot say what only fits together (``galleyproof check`` does).
    """
    schema = Job.model_json_schema()
    for name, shape in blocks().items():
        part = schema if name == "Job" else schema["$defs"][name]
        for key, one in shape.fields.items():
            entry = part["properties"][key]
            entry.pop("title", None)
            entry["description"] = _with_unit(MEANINGS[name][key], one.shape)
            if "default" in entry:
                entry["default"] = _default(shape.model, key, one)
                if entry["default"] is None:
                    del entry["default"]
    for part in schema["$defs"].values():
        part["description"] = _prose(part.get("description", ""))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "Galleyproof job file",
        "description": "One commercial kitchen's ventilation, fire system and building power.",
    }


def _with_unit(meaning: str, shape: Shape) -> str:
    how = _quantity(shape)
    return f"{meaning}; {how}" if how else meaning


def _quantity(shape: Shape) -> str:
    if not isinstance(shape, LeafShape) or shape.kind is None:
        return ""
    return JOB_WORDS.quantities[shape.kind]


def _default(model: type[BaseModel], key: str, one: FieldShape) -> Any:
    value = model.model_fields[key].get_default(call_default_factory=True, validated_data={})
    if value is None:
        return None
    return tree_of(value, one.shape, quantity)


def _prose(docstring: str) -> str:
    return " ".join(docstring.replace("``", "'").split())


# --- the tables of the page ---------------------------------------------------------------------------------


def key_table(name: str) -> str:
    """The keys of one block as a Markdown table: key, what it takes, default, meaning."""
    shape = blocks()[name]
    lines = ["| key | takes | if left out | meaning |", "| --- | --- | --- | --- |"]
    for key, one in shape.fields.items():
        left_out = "**needed**" if one.required else _left_out(shape.model, key, one)
        lines.append(f"| `{key}` | {_takes(one.shape)} | {left_out} | {MEANINGS[name][key]} |")
    return "\n".join(lines)


def unit_table() -> str:
    """Every kind of quantity of the job file with the units it is read in."""
    lines = ["| quantity | units | written like |", "| --- | --- | --- |"]
    used = {
        one.shape.kind
        for block in blocks().values()
        for one in block.fields.values()
        if isinstance(one.shape, LeafShape)
    }
    rows: dict[tuple[str, str], list[str]] = {}
    for name, kind in KINDS.items():
        if name in used:
            # feet and inches are two kinds in the core, one length in the file
            rows.setdefault((kind.title, _code(kind.spellings())), []).extend(kind.examples)
    lines += [f"| {title} | {units} | {_code(dict.fromkeys(like))} |" for (title, units), like in rows.items()]
    lines.append("| conductor size | `AWG`, `kcmil` | `14 AWG`, `4/0 AWG`, `250 kcmil` |")
    return "\n".join(lines)


def _code(words: Iterable[str]) -> str:
    return ", ".join(f"`{word}`" for word in words)


def render_page(page: str) -> str:
    """The page with every table between its marks (``<!-- keys: Hood -->`` to ``<!-- end -->``) made anew."""

    def table(found: re.Match[str]) -> str:
        text = unit_table() if found["what"] == "units" else key_table(found["name"])
        return f"{found['mark']}\n\n{text}\n\n<!-- end -->"

    mark = r"(?P<mark><!-- (?P<what>keys|units)(?:: (?P<name>\w+))? -->)\n.*?<!-- end -->"
    return re.sub(mark, table, page, flags=re.DOTALL)


def _left_out(model: type[BaseModel], key: str, one: FieldShape) -> str:
    value = _default(model, key, one)
    if value is None:
        return "none"
    if value in ({}, []):
        return "as its own defaults" if isinstance(one.shape, BlockShape) else "none"
    return f"`{flow(value)}`"


def _takes(shape: Shape) -> str:
    if isinstance(shape, WordShape):
        return ", ".join(f"`{word}`" for word in shape.values)
    if isinstance(shape, ListShape):
        item = "blocks" if isinstance(shape.item, (BlockShape, ChoiceShape, EitherShape)) else _takes(shape.item)
        return f"list of {item}"
    if isinstance(shape, PairsShape):
        return "your own keys with values"
    if isinstance(shape, (BlockShape, ChoiceShape, EitherShape)):
        return "a block"
    if shape.kind == "awg":
        return "conductor size"
    if shape.kind is not None:
        return KINDS[shape.kind].title
    return {"text": "text", "int": "whole number", "float": "number", "bool": "`true`, `false`", "any": "value"}[
        shape.plain
    ]
