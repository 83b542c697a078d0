"""YAML files with the line of every value kept: reading, checking against a model, changing in place."""

from galleyproof.yamltext.nodes import Broken, Document, Entry, Mapping, Node, Path, Scalar, Sequence, walk
from galleyproof.yamltext.reader import MAX_BYTES, MAX_DEPTH, load
from galleyproof.yamltext.validate import Outcome, collect, validate
from galleyproof.yamltext.words import Words, cut, either, hint, nearest

__all__ = [
    "MAX_BYTES",
    "MAX_DEPTH",
    "Broken",
    "Document",
    "Entry",
    "Mapping",
    "Node",
    "Outcome",
    "Path",
    "Scalar",
    "Sequence",
    "Words",
    "collect",
    "cut",
    "either",
    "hint",
    "load",
    "nearest",
    "validate",
    "walk",
]
