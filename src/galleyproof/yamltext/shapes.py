"""What a pydantic model expects at each place, as small values that can be walked beside a file.

Reading goes by these shapes and not by pydantic's own errors: they choose one branch of a union before
anything else is said about it, and leave the wording to us.
"""

from __future__ import annotations

import types
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Literal, TypeAlias, Union, cast, get_args, get_origin

from pydantic import BaseModel, TypeAdapter
from pydantic.fields import FieldInfo


@dataclass(frozen=True, slots=True, eq=False)
class FieldShape:
    """One key of a block."""

    shape: Shape
    required: bool
    nullable: bool


@dataclass(frozen=True, slots=True, eq=False)
class BlockShape:
    """A block with known keys."""

    model: type[BaseModel]
    fields: dict[str, FieldShape]


@dataclass(frozen=True, slots=True, eq=False)
class ListShape:
    """A list; ``least`` and ``most`` entries."""

    item: Shape
    least: int
    most: int | None


@dataclass(frozen=True, slots=True, eq=False)
class PairsShape:
    """A block whose keys are the writer's own."""

    key: Shape
    value: Shape
    least: int


@dataclass(frozen=True, slots=True, eq=False)
class ChoiceShape:
    """One of several blocks, told apart by the value of one key."""

    by: str
    blocks: dict[str, BlockShape]


@dataclass(frozen=True, slots=True, eq=False)
class EitherShape:
    """One of several blocks, told apart by their keys."""

    blocks: tuple[BlockShape, ...]


@dataclass(frozen=True, slots=True, eq=False)
class WordShape:
    """One of several fixed values, by the text that says it."""

    values: dict[str, Any]


@dataclass(frozen=True, slots=True, eq=False)
class LeafShape:
    """A single value, checked by its own type.

    Attributes:
        check: Reads the text; raises pydantic's ValidationError.
        plain: ``text``, ``int``, ``float``, ``bool`` or ``any``: what the text is turned into before.
        kind: Name of its quantity kind, if it is a quantity.
    """

    check: TypeAdapter[Any]
    plain: Literal["text", "int", "float", "bool", "any"]
    kind: str | None


Shape: TypeAlias = BlockShape | ListShape | PairsShape | ChoiceShape | EitherShape | WordShape | LeafShape


def shape_of(annotation: Any) -> Shape:
    """The shape of a model, or of a list of models."""
    return _shape(annotation)[0]


@cache
def block_shape(model: type[BaseModel]) -> BlockShape:
    """The shape of a model, its blocks included."""
    fields: dict[str, FieldShape] = {}
    for name, info in model.model_fields.items():
        shape, nullable = _field(info)
        fields[info.alias or name] = FieldShape(shape, info.is_required(), nullable)
    return BlockShape(model, fields)


def _field(info: FieldInfo) -> tuple[Shape, bool]:
    by = info.discriminator if isinstance(info.discriminator, str) else None
    return _shape(info.annotation, tuple(info.metadata), by)


def _shape(annotation: Any, metadata: tuple[Any, ...] = (), by: str | None = None) -> tuple[Shape, bool]:
    """The shape of an annotation, and whether it may be empty."""
    if get_origin(annotation) is Annotated:
        inner, *extra = get_args(annotation)
        for one in extra:
            if isinstance(one, FieldInfo):
                by = by or (one.discriminator if isinstance(one.discriminator, str) else None)
                metadata = (*metadata, *one.metadata)
            else:
                metadata = (*metadata, one)
        return _shape(inner, metadata, by)
    origin, args = get_origin(annotation), get_args(annotation)
    if origin in (Union, types.UnionType):
        return _union(args, metadata, by)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return block_shape(annotation), False
    if origin is Literal:
        return WordShape({_said(value): value for value in args}), False
    if (origin is tuple and len(args) == 2 and args[1] is Ellipsis) or origin in (list, frozenset):
        least, most = _bounds(metadata)
        return ListShape(_shape(args[0])[0], least, most), False
    if origin is dict:
        return PairsShape(_shape(args[0])[0], _shape(args[1])[0], _bounds(metadata)[0]), False
    return _leaf(annotation, metadata), False


def _union(args: tuple[Any, ...], metadata: tuple[Any, ...], by: str | None) -> tuple[Shape, bool]:
    rest = tuple(a for a in args if a is not type(None))
    nullable = len(rest) < len(args)
    if len(rest) == 1:
        return _shape(rest[0], metadata, by)[0], nullable
    shapes = [_shape(a)[0] for a in rest]
    blocks = [s for s in shapes if isinstance(s, BlockShape)]
    if len(blocks) == len(shapes):
        if by is None:
            return EitherShape(tuple(blocks)), nullable
        named: dict[str, BlockShape] = {}
        for block in blocks:
            word = block.fields[by].shape
            assert isinstance(word, WordShape)  # pydantic itself refuses another discriminator
            named |= dict.fromkeys(word.values, block)
        return ChoiceShape(by, named), nullable
    if all(isinstance(s, WordShape) for s in shapes):
        return WordShape({k: v for s in shapes for k, v in cast(WordShape, s).values.items()}), nullable
    return _leaf(Union[rest], metadata), nullable  # noqa: UP007 (built at run time)


def _leaf(annotation: Any, metadata: tuple[Any, ...]) -> LeafShape:
    kind = next((m.kind for m in metadata if isinstance(getattr(m, "kind", None), str)), None)
    whole = Annotated[annotation, *metadata] if metadata else annotation
    plain: Literal["text", "int", "float", "bool", "any"] = "text"
    if kind is None:
        if annotation is bool:
            plain = "bool"
        elif annotation is int:
            plain = "int"
        elif annotation is float:
            plain = "float"
        elif annotation is not str and not (isinstance(annotation, type) and issubclass(annotation, str)):
            plain = "any"
    return LeafShape(TypeAdapter(cast(type[Any], whole)), plain, kind)


def _bounds(metadata: tuple[Any, ...]) -> tuple[int, int | None]:
    least, most = 0, None
    for one in metadata:
        least = getattr(one, "min_length", None) or least
        most = getattr(one, "max_length", None) or most
    return least, most


def _said(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)
