"""Every exemption from a check says why it is one, on its own line."""

from __future__ import annotations

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
