"""Which way a move was made: asked once it goes against what is stated, or what was learned."""

from __future__ import annotations

from core.estimation.control_response import Response, ResponseRecord


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
