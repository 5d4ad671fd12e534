"""One class name, one meaning: no two classes at the top of a module share a name."""

from __future__ import annotations

import ast
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parents[1]


def shared_names(sources: Mapping[str, str]) -> dict[str, list[str]]:
    """Return the class names, private ones included, that stand in more than one file."""
    found: dict[str, list[str]] = {}
    for path, source in sources.items():
        for node in ast.parse(source).body:
            if isinstance(node, ast.ClassDef):
                found.setdefault(node.name, []).append(path)
    return {name: paths for name, paths in found.items() if len(paths) > 1}


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
