"""Nobody reads a sentence back: what is told is made at the end and only shown."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]

TOLD = frozenset(
    {"headline", "sentence", "predicted", "notes", "reason", "method", "label", "note", "text"}
)
"""Attributes and calls that hold or make words for a person."""

PARSING = frozenset(
    {
        *("split", "rsplit", "partition", "rpartition", "splitlines"),
        *("removeprefix", "removesuffix", "startswith", "endswith"),
        *("find", "index", "count", "lower", "upper", "capitalize", "casefold", "title"),
    }
)


def is_told(node: ast.expr) -> bool:
    """Whether an expression is words for a person: ``numbers.text(...)``, ``move.sentence``."""
    if isinstance(node, ast.Call):
        return isinstance(node.func, ast.Attribute) and node.func.attr in ("text", "label")
    return isinstance(node, ast.Attribute) and node.attr in TOLD - {"text"}


ELSEWHERE = {
    "core/fitting/log.py": "keys of messages that an entry holds, a space between",
    "core/paper/bench_sheet.py": "a list of notes, not one of them",
    "core/steps/level/chart.py": "a slope's two parts",
    "desktop/library/editor.py": "what a button shows, its line breaks aside, told from before",
    "desktop/widgets/wrapping_buttons.py": "the lines of a button that wraps, to measure them",
    "desktop/wizard/entry_undo.py": "an entry's line breaks, and what is too long for a notice",
    "desktop/widgets/record_table/rows.py": "a column's cell, sorted without regard to case",
}
"""Files where such a name holds something else, and what."""


def parsed(tree: ast.AST) -> Iterator[int]:
    """Yield the lines where words for a person are cut, searched or compared to words."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            if node.func.attr in PARSING and is_told(node.func.value):
                yield node.lineno
        elif isinstance(node, ast.Subscript) and is_told(node.value):
            yield node.lineno
        elif isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            literal = any(isinstance(s, ast.Constant) and isinstance(s.value, str) for s in sides)
            if literal and any(is_told(side) for side in sides):
                yield node.lineno


def test_no_code_parses_a_sentence() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}"
        for package in ("core", "desktop", "resources")
        for path in sorted((ROOT / package).rglob("*.py"))
        if str(path.relative_to(ROOT)) not in ELSEWHERE
        for line in parsed(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert found == []


def test_parsing_is_found_out() -> None:
    for code in (
        "if 'Turn the level' in status.assessment.headline: pass",
        "words = numbers.text(message).split(',')",
        "first = move.sentence[:1]",
        "name = control.label.split(',')[0]",
        "if figure.label == 'Downforce': pass",
    ):
        assert list(parsed(ast.parse(code))) == [1], code
    for code in ("shown.setText(numbers.text(move.sentence))", "if status.reason: pass"):
        assert list(parsed(ast.parse(code))) == [], code
