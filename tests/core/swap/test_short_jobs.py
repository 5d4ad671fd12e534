"""A plan after a short job starts from the whole fitting before it."""

from __future__ import annotations

from datetime import timedelta

from core.fitting import Entry, Finished, Fitting, Work
from core.swap.past import Past, whole_of
from core.workflow.replay import journey_of
from core.workflow.work import work_asked
from tests.examples import cartridge, deck
from tests.worked import BEGAN


def past(day: int, name: str, work: Work, *, cartridge_id: str = "c") -> Past:
    at = BEGAN + timedelta(days=day)
    entries = (Entry(at=at, body=work_asked(work)), Entry(at=at, body=Finished()))
    fitting = Fitting(
        id=name,
        deck_id="d",
        deck_revision=1,
        cartridge_id=cartridge_id,
        cartridge_revision=1,
        started_at=at,
        entries=entries,
    )
    return Past(fitting, 1, 1, journey_of(deck(), cartridge(), fitting))


def test_the_newest_whole_fitting_of_the_same_cartridge_stands_in() -> None:
    first, second = past(0, "first", Work.WHOLE), past(1, "second", Work.CHECK_UP)
    other = past(2, "other", Work.WHOLE, cartridge_id="another")
    short, later = past(3, "short", Work.SPEED), past(4, "later", Work.WHOLE)
    assert whole_of(short, (first, second, other, short, later)) is second


def test_a_whole_fitting_and_a_short_job_with_none_before_it_stand_for_themselves() -> None:
    whole, short = past(3, "whole", Work.WHOLE), past(2, "short", Work.DOWNFORCE)
    assert whole_of(whole, (short, whole)) is whole
    assert whole_of(short, (short, whole)) is short
