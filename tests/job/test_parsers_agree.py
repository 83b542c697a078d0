"""The parser written in Python and the compiled one, where it is there, give the same nodes."""

from __future__ import annotations

import pytest

from galleyproof.yamltext import load, walk

TEXTS = (
    "a:\n  b: 1\n  duty:\n  zone: 3\n",
    "a:\n  duty:   # nothing yet\n\n  zone: 3\n",
    "a: {x: , y: 2}\n",
    "a:\n  -\n  - 2\n",
    '"a b":\n  duty:',
)


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize("parser", ["fastest", "pure"])
def test_nothing_stands_on_its_keys_line(text: str, parser: str) -> None:
    """An empty value is told on the line of its key, whichever parser read it."""
    document = load(text, "f.yaml", parser=parser)  # type: ignore[arg-type]
    lines = text.splitlines()
    for path, _node in walk(document.root):
        if path and isinstance(path[-1], str):
            assert path[-1] in lines[document.line(path) - 1]


@pytest.mark.parametrize("text", TEXTS)
def test_both_parsers_agree(text: str) -> None:
    """Same nodes, same places."""
    assert load(text, "f.yaml", parser="fastest") == load(text, "f.yaml", parser="pure")
