"""Whether the stylus may come down on a record: the scale's last word against the maker's range.

1.8 to 2.2 gf (the example cartridge). Whatever was good before, a last weighing outside keeps the
stylus up.
"""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import Control, MovePart, ReadingTaken, StepAccepted
from core.records import Deck
from core.workflow.refusals import why_refused
from tests.examples import cartridge
from tests.outside.test_told_mount import PLUGGED
from tests.outside.told import Person, pinned, said
from tests.worked import CHECKED, Read


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


def mounted(on: Deck, checked: Read, **more: Any) -> Person:
    """Return somebody at skating who keeps a mount step as it was ticked, then weighs 2 gf."""
    person = Person("skating", on, **more)
    person.keep(ReadingTaken(step="mount", reading=checked))
    verdict = person.journey.status("mount").assessment.verdict
    person.keep(StepAccepted(step="mount", verdict=verdict, reason="only one screw here"))
    person.keep(ReadingTaken(step="rough_downforce", reading=scale(2.0)))
    return person


@pytest.mark.parametrize("unticked", ["screws_snug", "pushed_home", "lock_closed"])
def test_a_loose_cartridge_kept_by_choice_keeps_the_stylus_up(unticked: str) -> None:
    plug_in = unticked != "screws_snug"
    ticked = PLUGGED if plug_in else CHECKED
    on = pinned(head={"kind": "plug-in"}) if plug_in else pinned()
    fitted = cartridge(mounting="plug-in", hardware_g=0.0) if plug_in else cartridge()
    person = mounted(on, {**ticked, unticked: False}, fitted=fitted)
    refused = why_refused(person.journey, BANDS)
    assert refused is not None
    assert "stylus up" in said(refused)
    assert "loose" in said(refused)
    for weighed in ("rough_downforce", "final_downforce"):
        assert person.journey.status(weighed).assessment.caution_keys[0] == "loose"
    person.keep(ReadingTaken(step="mount", reading=ticked))
    assert why_refused(person.journey, BANDS) is None
    for weighed in ("rough_downforce", "final_downforce"):
        assert "loose" not in person.journey.status(weighed).assessment.caution_keys


def test_a_lead_left_off_by_choice_does_not_keep_the_stylus_up() -> None:
    person = mounted(pinned(), {**CHECKED, "green_lead": False})
    assert why_refused(person.journey, BANDS) is None
    assert "loose" not in person.journey.status("rough_downforce").assessment.caution_keys
