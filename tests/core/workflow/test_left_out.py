"""A move left out of the record moves nothing on the deck: what takes it back by hand."""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import (
    Control,
    ControlChecked,
    Entry,
    Fitting,
    MoveMade,
    MovePart,
    ReadingTaken,
    Withdrawn,
)
from core.language import Message, Numbers
from core.workflow import back_by_hand
from tests.examples import deck, log_of


def said(told: Message | None) -> str:
    assert told is not None
    return Numbers().text(told).replace("\u00a0", " ")


def left_out(*parts: MovePart, answered: bool = False, step: str = "level") -> tuple[Fitting, str]:
    made = Entry(body=MoveMade(step=step, parts=parts))
    bodies = [made]
    if answered:
        turned = ControlChecked(control=parts[0].control, reversed_entry=made.id)
        body = ReadingTaken(step=step, reading=turned.model_dump(mode="json"))
        bodies.append(Entry(body=body))
    bodies.append(Entry(body=Withdrawn(entry=made.id)))
    fitting = log_of(*bodies)
    return fitting, made.id


@pytest.mark.parametrize(
    ("step", "part", "back"),
    [
        ("rough_downforce", MovePart(control=Control.COUNTERWEIGHT, amount=1.5, unit="turns"),
         "Counterweight 1.50 turns away from the pivot"),
        ("arm_height", MovePart(control=Control.PILLAR, amount=-2.0, unit="mm"),
         "Arm pillar 2.00 mm up"),
        ("alignment", MovePart(control=Control.SLIDE, amount=0.5, unit="mm"),
         "Cartridge 0.50 mm toward the pivot"),
        ("tilt", MovePart(control=Control.TILT, amount=-3.0, unit="°"),
         "Head 3.00° left side rises, seen from the front"),
        ("skating", MovePart(control=Control.SKATING, amount=0.5, unit="gf"),
         "Skating compensation 0.50 gf less"),
    ],
)  # fmt: skip # rows of a table
def test_every_steps_move_is_taken_back_by_its_amount_the_other_way(
    step: str, part: MovePart, back: str
) -> None:
    fitting, entry = left_out(part, step=step)
    told = said(back_by_hand(fitting, entry, deck()))
    assert back in told
    assert "Nothing moved on the deck" in told


def test_a_move_that_was_answered_to_be_the_other_way_is_taken_back_as_it_was_made() -> None:
    foot = MovePart(control=Control.FOOT, amount=0.5, unit="turns", where="rear")
    fitting, entry = left_out(foot, answered=True)
    told = said(back_by_hand(fitting, entry, deck()))
    assert "longer" in told


def test_tightened_screws_have_no_way_back() -> None:
    fitting, entry = left_out(
        MovePart(control=Control.SCREWS, amount=1.0, unit=""), step="alignment"
    )
    told = said(back_by_hand(fitting, entry, deck()))
    assert "by hand" not in told


def _log(*bodies: Any) -> Fitting:
    return left_out(FOOT)[0].model_copy(update={"entries": bodies})


FOOT = MovePart(control=Control.FOOT, amount=0.875, unit="turns", where="rear")
LOWERED = FOOT.turned_round()
WEIGHT = MovePart(control=Control.COUNTERWEIGHT, amount=1.0, unit="turns")


@pytest.mark.parametrize(
    ("first", "later"),
    [
        (MoveMade(step="level", parts=(FOOT,)), MoveMade(step="level", parts=(LOWERED,))),
        (
            MoveMade(step="level", parts=(FOOT,)),
            MoveMade(step="level", parts=(FOOT.model_copy(update={"where": "front left"}),)),
        ),
        (
            MoveMade(step="rough_downforce", parts=(WEIGHT,)),
            MoveMade(step="final_downforce", parts=(WEIGHT.turned_round(),)),
        ),
    ],
)
def test_a_move_that_a_later_one_may_have_taken_back_gives_no_amount(
    first: MoveMade, later: MoveMade
) -> None:
    """A foot was raised and lowered by as much; by hand it would have gone down twice."""
    moved, after = Entry(body=first), Entry(body=later)
    gone = Entry(body=Withdrawn(entry=moved.id))
    fitting = _log(moved, after, gone)
    told = said(back_by_hand(fitting, moved.id, deck()))
    assert "by hand" not in told
    assert "Nothing moved on the deck" in told
    assert "let it count again, then read again" in told
    # The last move of its step, also as soon as the later one is left out as well.
    alone = _log(moved, after, gone, Entry(body=Withdrawn(entry=after.id)))
    assert "take it back by hand" in said(back_by_hand(alone, moved.id, deck()))
    assert "take it back by hand" in said(
        back_by_hand(_log(moved, after, Entry(body=Withdrawn(entry=after.id))), after.id, deck())
    )
