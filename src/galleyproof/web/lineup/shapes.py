"""What a place of a job takes, whatever stands there now."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from galleyproof.job.model import Job
from galleyproof.job.words import JOB_WORDS
from galleyproof.job.write import quantity
from galleyproof.units import KINDS
from galleyproof.yamltext import Path
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
    block_shape,
    shape_of,
)
from galleyproof.yamltext.tree import Raw

__all__ = [
    "ROOT",
    "default_of",
    "field_at",
    "fields_of",
    "is_reference",
    "is_single",
    "model_of",
    "takes",
    "title_of",
    "variant",
]

ROOT = block_shape(Job)
TAG_PATTERN = r"^[A-Za-z][A-Za-z0-9]*([-/.][A-Za-z0-9]+)*$"
NAMES = ("tag",)


def variant(shape: Shape, tree: Raw) -> Shape:
    """The block that stands there, of those that may."""
    if isinstance(shape, ChoiceShape):
        word = tree.get(shape.by) if isinstance(tree, dict) else None
        return shape.blocks.get(str(word), shape)
    if isinstance(shape, EitherShape) and isinstance(tree, dict):
        fitting = [b for b in shape.blocks if set(tree) <= set(b.fields)]
        return fitting[0] if len(fitting) == 1 else shape
    return shape


def fields_of(shape: Shape) -> dict[str, FieldShape]:
    """Keys a shape has, those of all its kinds together; none for what is no block."""
    if isinstance(shape, BlockShape):
        return shape.fields
    return _united(shape) if isinstance(shape, (ChoiceShape, EitherShape)) else {}


@cache
def _united(shape: ChoiceShape | EitherShape) -> dict[str, FieldShape]:
    found: dict[str, FieldShape] = {}
    if isinstance(shape, ChoiceShape):
        found[shape.by] = FieldShape(WordShape({word: word for word in shape.blocks}), True, False)
    for block in dict.fromkeys(shape.blocks.values() if isinstance(shape, ChoiceShape) else shape.blocks):
        for key, one in block.fields.items():
            other = found.get(key)
            if other is None:
                found[key] = one
            elif {type(other.shape), type(one.shape)} <= {BlockShape, EitherShape} and other.shape is not one.shape:
                # a motor of one kind, a motor of another: all that either can say
                blocks = dict.fromkeys((*_blocks(other.shape), *_blocks(one.shape)))
                found[key] = FieldShape(EitherShape(tuple(blocks)), other.required, other.nullable)
    return found


def _blocks(shape: Shape) -> tuple[BlockShape, ...]:
    if isinstance(shape, BlockShape):
        return (shape,)
    return shape.blocks if isinstance(shape, EitherShape) else ()


def field_at(tree: Raw, path: Path) -> FieldShape | None:
    """What a place takes; None for one that the job, as it stands, does not have."""
    shape: Shape = ROOT
    field: FieldShape | None = FieldShape(ROOT, True, False)
    for step in path:
        if isinstance(shape, ListShape):
            if not isinstance(step, int):
                return None
            tree = tree[step] if isinstance(tree, list) and 0 <= step < len(tree) else None
            field = FieldShape(shape.item, True, False)
        elif isinstance(shape, PairsShape):
            tree = tree.get(str(step)) if isinstance(tree, dict) else None
            field = FieldShape(shape.value, True, False)
        else:
            here = variant(shape, tree)
            if isinstance(shape, ChoiceShape) and step == shape.by:
                return fields_of(shape)[shape.by]
            field = fields_of(here).get(str(step))
            if field is None:
                return None
            tree = tree.get(str(step)) if isinstance(tree, dict) else None
        shape = field.shape
    return field


def is_single(shape: Shape) -> bool:
    """Whether one cell can hold it: a single value, a list of them, or pairs of them."""
    if isinstance(shape, ListShape):
        return isinstance(shape.item, (LeafShape, WordShape))
    if isinstance(shape, PairsShape):
        return isinstance(shape.value, (LeafShape, WordShape))
    return isinstance(shape, (LeafShape, WordShape))


def is_reference(shape: Shape) -> bool:
    """Whether it takes the tag of something (or a list of them)."""
    if isinstance(shape, ListShape):
        return is_reference(shape.item)
    return isinstance(shape, LeafShape) and _is_tag(shape)


@cache
def _is_tag(shape: LeafShape) -> bool:
    return shape.plain == "text" and shape.kind is None and shape.check.json_schema().get("pattern") == TAG_PATTERN


@cache
def default_of(model: Any, key: str) -> str:
    """What holds where a key is left out, as the text would say it; empty for nothing."""
    info = model.model_fields[key]
    if info.is_required():
        return ""
    value = info.get_default(call_default_factory=True, validated_data={})
    if value is None or value == ():
        return ""
    shape = block_shape(model).fields[key].shape
    if not is_single(shape):
        return ""
    return flow(tree_of(value, shape, quantity)).strip("'")


def model_of(shape: Shape, key: str) -> Any:
    """The model whose key it is, for its meaning and its default."""
    blocks: Iterator[BlockShape]
    if isinstance(shape, BlockShape):
        return shape.model
    if isinstance(shape, (ChoiceShape, EitherShape)):
        blocks = iter(shape.blocks.values() if isinstance(shape, ChoiceShape) else shape.blocks)
        return next(b.model for b in blocks if key in b.fields)
    return None


@cache
def takes(shape: Shape) -> str:
    """How a value is typed, in words."""
    if isinstance(shape, ListShape):
        inner = takes(shape.item)
        return "several, with commas between" + (f"; {inner}" if inner else "")
    if isinstance(shape, PairsShape):
        return "one line for each: name: value"
    if isinstance(shape, LeafShape) and shape.kind is not None:
        kind = KINDS.get(shape.kind)
        if kind is None:
            return JOB_WORDS.quantities[shape.kind]
        return f"like {', '.join(kind.examples[:3])}"
    return ""


def title_of(key: str) -> str:
    """A key as the head of a column or the name of a field."""
    return _TITLES.get(key, key.capitalize() if key.endswith("day") and key != "day" else key.replace("_", " "))


_TITLES = {
    "job": "the job",
    "codes": "codes",
    "site": "surroundings",
    "makeup_units": "make-up units",
    "makeup_air": "make-up air",
    "nec": "NFPA 70",
    "imc": "IMC",
    "nfpa_96": "NFPA 96",
    "awg": "size",
    "ground_awg": "ground size",
    "least_power_awg": "least power size",
    "control_awg": "control size",
    "power_awg": "power size",
    "hp": "power",
    "per_kwh": "price of a kWh",
    "per_therm": "price of a therm",
    "input_impedance_kohm": "input impedance, kΩ",
    "temperature_rise_kelvin": "temperature rise, K",
    "january_1": "January 1 is a",
}

SHAPES_OF_LISTS = {key: one.shape for key, one in shape_of(Job).fields.items() if isinstance(one.shape, ListShape)}  # type: ignore[union-attr]
"""Top lists of a job."""
