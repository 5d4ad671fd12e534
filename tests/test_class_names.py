"""One name, one meaning: no two classes or aliases at the top of a module share a name."""

from __future__ import annotations

import ast
import re
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parents[1]
ALIAS = re.compile(r"[A-Z][a-z][A-Za-z]*")


OF_EVERY_STEP = frozenset({"Readings", "Chosen", "Event"})
"""What every step's package calls alike: its ways, its choices, and what its log is read as."""

SAME_EVERYWHERE = frozenset({"Floats", "FloatArray", "GoOn", "Told"})
"""Aliases of something general, which mean the same in every file."""


def shared_names(sources: Mapping[str, str]) -> dict[str, list[str]]:
    """Return the class names, private ones included, that stand in more than one file.

    An alias of a type counts as a class: a name may not mean a model here and a tuple there.
    """
    found: dict[str, list[str]] = {}
    for path, source in sources.items():
        for node in ast.parse(source).body:
            for name in _types_named(node):
                found.setdefault(name, []).append(path)
    return {name: paths for name, paths in found.items() if len(paths) > 1}


def _types_named(node: ast.stmt) -> list[str]:
    """Return the class or the alias that a statement names."""
    if isinstance(node, ast.ClassDef):
        return [node.name]
    targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
    names = [target.id for target in targets if isinstance(target, ast.Name)]
    return [
        name
        for name in names
        if ALIAS.fullmatch(name) and name not in OF_EVERY_STEP | SAME_EVERYWHERE
    ]


def test_no_two_classes_share_a_name() -> None:
    sources = {
        str(path.relative_to(ROOT)): path.read_text(encoding="utf-8")
        for package in ("core", "desktop")
        for path in sorted((ROOT / package).rglob("*.py"))
    }
    assert shared_names(sources) == {}


def test_a_shared_name_is_found_out() -> None:
    one = "class _Case:\n    pass\nclass Move:\n    class Inner: pass\n"
    other = "class _Case: pass\nclass Inner: pass\n"
    assert shared_names({"a.py": one, "b.py": other}) == {"_Case": ["a.py", "b.py"]}


def test_an_alias_with_the_name_of_a_class_is_found_out() -> None:
    one = "class Place: pass\nWays: TypeAlias = str\nT = TypeVar('T')\n_Kept: Final = 1\n"
    other = "Place = tuple[str, ...]\nWays = int | str\nT = 1\n_Kept = 2\nReadings = Place\n"
    named = shared_names({"a.py": one, "b.py": other, "c.py": "Readings = str"})
    assert named == {"Place": ["a.py", "b.py"], "Ways": ["a.py", "b.py"]}
