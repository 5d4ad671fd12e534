"""Whether the stylus may come down on a record: the scale's last word against the maker's range.

1.8 to 2.2 gf (the example cartridge). Whatever was good before, a last weighing outside keeps the
stylus up.
"""

from __future__ import annotations

import pytest

from core.fitting import Control, MovePart, ReadingTaken
from core.workflow.refusals import why_refused
from tests.outside.told import Person, said
from tests.worked import Read


def scale(shown: float) -> Read:
    return {"way": "scale", "downforce_gf": shown}


BANDS = ReadingTaken(
    step="skating",
    reading={"way": "test bands", "setting": 2.0, "broke_first": "right"},
)


@pytest.mark.parametrize(
    ("shown", "safe"), [(2.0, True), (2.01, True), (1.99, True), (2.3, False), (1.6, False)]
)
@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
def test_the_last_weighing_decides(step: str, shown: float, safe: bool) -> None:
    person = Person("speed")
    person.keep(ReadingTaken(step=step, reading=scale(shown)))
    journey = person.journey
    assert journey.gate.is_open == safe
    refused = why_refused(journey, BANDS)
    assert (refused is None) == safe
    if not safe:
        assert "stylus up" in said(journey.gate.reason).lower()


@pytest.mark.parametrize("amount", [0.25, -0.25])
def test_a_counterweight_moved_since_keeps_the_stylus_up(amount: float) -> None:
    person = Person("speed")
    assert person.journey.gate.is_open
    part = MovePart(control=Control.COUNTERWEIGHT, amount=amount, unit="turns")
    person.moves(part, step="final_downforce")
    assert not person.journey.gate.is_open
    assert why_refused(person.journey, BANDS) is not None
