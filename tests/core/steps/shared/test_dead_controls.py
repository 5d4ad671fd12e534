"""A control that stays dead: the headline itself says what to do, in one line from two metres."""

from __future__ import annotations

import pytest

from core.fitting import Control
from core.language import Numbers
from core.steps.shared import does_not_answer

MOVED_BY_HAND = [
    control
    for control in Control
    if control not in (Control.CARTRIDGE, Control.SCREWS, Control.RECORD)
]


@pytest.mark.parametrize("dial", [False, True])
@pytest.mark.parametrize("control", MOVED_BY_HAND)
def test_the_headline_of_a_dead_control_says_what_to_do(control: Control, *, dial: bool) -> None:
    headline, _ = does_not_answer(control, dial=dial)
    what, _, then = Numbers().text(headline).partition(": ")
    assert what.startswith("The ")
    assert any(word in then for word in ("see what", "see how", "repaired", "repair them"))
    assert len(Numbers().text(headline)) <= 80
