"""No sentence for a person stands in the code: the catalogue holds them, for every language."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]

_WORDS = re.compile(r"^[&“(]?[A-Za-z][^_]*[a-z’',:;.]+ .*[a-z]{2}", re.DOTALL)
_KEY = re.compile(r"[a-z-]+( [a-z-]+){1,2}")
"""A stored key: two or three small words with no sign behind them, ``"check weight"``."""

MISTAKES = frozenset(
    {
        "AssertionError",
        "ValueError",
        "TypeError",
        "KeyError",
        "RuntimeError",
        "LookupError",
        "NotImplementedError",
    }
)
"""Mistakes of the program, told to who reads a log; and what a model refuses, a whole sentence that
a second language has in its labels.toml, by the English."""

LABELS = frozenset({"title", "description", "label"})
"""Words of a model: a second language has them in its labels.toml, by the English."""

EXEMPT = {
    "desktop/forms/model_fields.py": "what pydantic writes before a sentence, cut off",
    "desktop/paper/dialog.py": "the name under which a scale is stored",
    "desktop/widgets/side_by_side.py": "a style sheet",
    "desktop/widgets/theme.py": "a style sheet",
    "core/paper/printer_scale.py": "the name under which a scale is stored",
    "core/practice/__main__.py": "the command's own name, and the heads of a table",
    "core/physics/groove_radii.py": "the standards that radii come from",
    "core/practice/instruments.py": "the names of ways, as they are stored",
    "core/practice/invented_decks.py": "what a stored deck is called",
    "core/practice/saved_rehearsals.py": "the names of ways, as they are stored",
    "core/practice/proof/": "a table for who works on the program",
    "core/records/quantities.py": "what a unit is called, and pydantic's own reasons",
    "core/steps/alignment/readings.py": "help of fields, shared by several models",
    "core/steps/arm_height/readings.py": "help of fields, shared by several models",
    "core/store/document_text.py": "what pydantic writes before a sentence, cut off",
    "core/store/places.py": "the name of a folder",
    "core/store/sqlite/": "SQL",
    "core/workflow/refusals.py": "what pydantic writes before a sentence, cut off",
}
"""Files and folders where such a text is no sentence of a screen, and what it is."""


def sentences(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Yield the texts of two words or more that are neither a docstring nor a model's label."""
    skipped = {
        id(one) for node in ast.walk(tree) for part in _no_sentence(node) for one in ast.walk(part)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            words = node.value
            if id(node) not in skipped and _WORDS.search(words) and not _KEY.fullmatch(words):
                yield node.lineno, words


def _no_sentence(node: ast.AST) -> Iterator[ast.AST]:
    """Yield the parts of a node whose texts nobody is shown, or a second language has already."""
    match node:
        case ast.Expr(value=ast.Constant()) | ast.Assert():
            yield node
        case ast.Raise(exc=ast.Call(func=ast.Name(id=name))) if name in MISTAKES:
            yield node
        case ast.Call(func=ast.Name(id="Field" | "FieldSpec")):
            yield from (word for word in node.keywords if word.arg in LABELS)
        case ast.Call(func=ast.Name(id="Directions")):
            yield node
        case ast.ClassDef():
            if any(getattr(base, "id", "") == "Choice" for base in node.bases):
                yield node
            for line in node.body:  # WAY_TITLE and the like, and the name a way is stored by
                target = getattr(line, "target", None) or getattr(line, "targets", [None])[0]
                name = getattr(target, "id", "")
                if name.isupper() or name == "way":
                    yield line


def found_in(package: str, but: tuple[str, ...]) -> list[str]:
    found: list[str] = []
    for path in sorted((ROOT / package).rglob("*.py")):
        place = str(path.relative_to(ROOT))
        if not place.startswith(but):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            found += [f"{place}:{line}: {text[:60]}" for line, text in sentences(tree)]
    return found


def test_no_sentence_stands_in_the_code_of_the_screens() -> None:
    assert found_in("desktop", tuple(EXEMPT)) == []


def test_no_sentence_stands_in_the_core() -> None:
    assert found_in("core", tuple(EXEMPT)) == []


def test_every_exemption_is_needed() -> None:
    """A file that holds no such text any more is judged as all others."""
    unneeded = []
    for place in EXEMPT:
        paths = [ROOT / place] if place.endswith(".py") else (ROOT / place).rglob("*.py")
        if not any(any(sentences(ast.parse(path.read_text("utf-8")))) for path in paths):
            unneeded.append(place)
    assert unneeded == []


def test_words_are_found_out() -> None:
    for code in (
        'label.setText("Read the dial again")',
        'message = f"Turn it by {size} and read again."',
        'raise PaperProblem("There is no folder here.", "")',
    ):
        assert list(sentences(ast.parse(code))), code
    for code in (
        'text = tr("paper.dialog.close")',
        'raise ValueError("a document has a page at least")',
        '"""Print it at full size."""',
        'class Kind(Choice):\n    BOTH = "both", "Grids and arc"',
    ):
        assert not list(sentences(ast.parse(code))), code


def test_nothing_is_said_at_import() -> None:
    """The language is chosen when the window is made; templates are not read before."""
    found: list[str] = []

    def look(path: Path, node: ast.AST) -> None:
        calls = (one for one in ast.walk(node) if isinstance(one, ast.Call))
        said = (one for one in calls if getattr(one.func, "id", "") in ("tr", "said"))
        found.extend(f"{path.relative_to(ROOT)}:{one.lineno}" for one in said)

    def walk(path: Path, body: list[ast.stmt]) -> None:
        for node in body:
            if isinstance(node, ast.FunctionDef):
                for default in (*node.args.defaults, *filter(None, node.args.kw_defaults)):
                    look(path, default)
            elif isinstance(node, ast.ClassDef):
                walk(path, node.body)
            else:
                look(path, node)

    for path in sorted((ROOT / "desktop").rglob("*.py")):
        walk(path, ast.parse(path.read_text(encoding="utf-8")).body)
    assert found == []
