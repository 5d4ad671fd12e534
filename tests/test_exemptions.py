"""Every exemption from a check says why it is one, on its own line."""

from __future__ import annotations

import ast
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ROOMS = ("core", "desktop", "resources", "tests")
EXEMPTS = re.compile(r"#\s*(?:noqa|type:\s*ignore|fmt:\s*(?:skip|off))\b")
SAYS_WHY = re.compile(
    r"#\s*(?:noqa: [A-Z]+[0-9]+(?:, ?[A-Z]+[0-9]+)*|type: ignore\[[a-z-]+(?:, ?[a-z-]+)*\]"
    r"|fmt: (?:skip|off))"
    r"\s+(?:-|#) \S.{3,}"
)


def exemptions(room: str) -> Iterator[tuple[Path, int, str]]:
    """Yield every comment that exempts its line: its file, its line and its words."""
    for path in sorted((ROOT / room).rglob("*.py")):
        if not EXEMPTS.search(path.read_text(encoding="utf-8")):
            continue
        with path.open("rb") as file:
            for token in tokenize.tokenize(file.readline):
                if token.type == tokenize.COMMENT and EXEMPTS.search(token.string):
                    yield path, token.start[0], token.string


@pytest.mark.parametrize("room", ROOMS)
def test_every_exemption_names_its_rule_and_says_why(room: str) -> None:
    silent = [
        f"{path.relative_to(ROOT)}:{line} {words}"
        for path, line, words in exemptions(room)
        if not SAYS_WHY.search(words)
    ]
    assert not silent


@pytest.mark.parametrize(
    ("comment", "says"),
    [
        ("# noqa: S101 - a test asserts", True),
        ("# type: ignore[misc] # its base is imported late", True),
        ("# noqa: C901, PLR0912 - a case a kind", True),
        ("# noqa", False),
        ("# noqa: S101", False),
        ("# type: ignore", False),
        ("# type: ignore[misc]", False),
        ("# type: ignore # no rule is named", False),
        ("# fmt: skip # rows of a table", True),
        ("# fmt: skip", False),
    ],
)
def test_what_counts_as_a_reason(comment: str, says: bool) -> None:
    assert EXEMPTS.search(comment)
    assert bool(SAYS_WHY.search(comment)) is says


LEAVES_OUT = ("skip", "skipif", "xfail", "importorskip")
"""What leaves a test out, or lets it fail."""


def left_out(source: str) -> Iterator[tuple[int, bool]]:
    """Yield every place that leaves a test out: its line, and whether it says why."""
    tree = ast.parse(source)
    called = {id(node.func): node for node in ast.walk(tree) if isinstance(node, ast.Call)}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Attribute) or node.attr not in LEAVES_OUT:
            continue
        owner = ast.unparse(node.value)
        if owner not in ("pytest", "pytest.mark"):
            continue
        call = called.get(id(node))
        reasons = [] if call is None else [k.value for k in call.keywords if k.arg == "reason"]
        if call is not None and owner == "pytest" and node.attr == "skip":
            reasons += call.args[:1]
        yield node.lineno, any(len(ast.unparse(one)) > len("'why'") for one in reasons)


def test_every_test_that_is_left_out_says_why() -> None:
    silent = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in sorted((ROOT / "tests").rglob("*.py"))
        for line, says in left_out(path.read_text("utf-8"))
        if not says
    ]
    assert not silent


@pytest.mark.parametrize(
    ("source", "says"),
    [
        ('pytest.skip("no small disk can be made here")', True),
        ("pytest.skip()", False),
        ('pytest.skip("")', False),
        ('@pytest.mark.skipif(True, reason="no fork there")\ndef f(): pass', True),
        ("@pytest.mark.skipif(True)\ndef f(): pass", False),
        ("@pytest.mark.xfail\ndef f(): pass", False),
        ('pytest.importorskip("miniaudio")', False),
    ],
)
def test_what_counts_as_a_reason_to_leave_out(source: str, says: bool) -> None:
    assert [found for _, found in left_out(source)] == [says]
