"""Which way a move was made: asked once it goes against what is stated, or what was learned."""

from __future__ import annotations

import pytest

from core.estimation import ControlModel, ControlMove, ControlTrial, Estimate
from core.estimation.control_response import Response, ResponseRecord, control_response


def backward() -> ResponseRecord:
    """Return the record of a control that acts backward, as the person said."""
    record = ResponseRecord()
    record.take(Response.REVERSED)
    record.look()
    assert record.backward
    return record


def test_a_move_as_stated_of_a_backward_control_is_asked_about() -> None:
    record = backward()
    record.take(Response.ANSWERED)
    assert record.asks
    assert record.against


def test_answered_as_entered_it_acts_as_stated_after_all() -> None:
    record = backward()
    record.take(Response.ANSWERED)
    record.look()
    assert not record.asks
    assert not record.backward


def test_what_is_open_about_a_direction_stays_open_when_something_else_was_moved() -> None:
    record = ResponseRecord()
    record.take(Response.REVERSED)
    record.forget()
    assert record.asks
    assert record.against


@pytest.mark.parametrize(
    ("shows", "moves", "asks"),
    [
        # Three moves of 0.027 by which 0.081 should have come. Two readings of 0.02 tell 1.96 x
        # 0.0283 = 0.055 apart: 0.066 that lack are more, 0.041 and 0.054 are not, 0.068 are again.
        (0.005, 2, False),
        (0.005, 3, True),
        (0.0135, 3, False),
        (0.0135, 4, False),
        (0.0135, 5, True),
    ],
)
def test_moves_too_small_to_show_are_asked_about_once_what_lacks_would_have_shown(
    shows: float, moves: int, asks: bool
) -> None:
    control = ControlModel("turn", stated_gain=1.0, execution_relative=0.0)
    trials: list[ControlTrial] = [Estimate(0.0, 0.02)]
    for count in range(1, moves + 1):
        trials += [ControlMove(0.027), Estimate(count * shows, 0.02)]
    assert control_response(trials, control).asks is asks
