"""A page's words fit the arm that is fitted."""

from __future__ import annotations

import pytest

from core.language import step_text
from core.steps import STEP_NAMES


@pytest.mark.parametrize("name", STEP_NAMES)
def test_a_parallel_tracking_arm_is_told_nothing_of_pivots(name: str) -> None:
    text = step_text(name, parallel=True)
    own = [text.title, text.short, text.why, text.why_now, *text.need, *text.how, text.skip]
    if name != "skating":  # nothing to set there, and so no page's words
        ways = [text.ways["path"]] if name == "alignment" else text.ways.values()
        own += [line for way in ways for line in way.how]
        assert [line for line in own if "pivot" in line.lower() or "null" in line.lower()] == []


def test_a_pivoted_arm_keeps_its_own_words() -> None:
    assert "pivot" in step_text("alignment").why
    assert step_text("level", parallel=True) == step_text("level")
