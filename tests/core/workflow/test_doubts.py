"""The summary says which figures are known less well than was asked for, and how well."""

from __future__ import annotations

from core.workflow.summary import outcome_of
from tests.outside.told import Person, pinned, said


def by_dial() -> Person:
    person = Person("final_downforce", pinned(arm={"gf_per_turn": 2.0}))
    done = {"floated": True, "zeroed": True, "sinks": True}
    person.reads({"way": "float and dial", "dial_gf": 2.0, **done})
    return person


def test_what_a_dial_told_is_said_to_be_less_sure_than_wanted() -> None:
    (doubt,) = outcome_of(by_dial().journey, "final_downforce").doubts
    told = said(doubt).replace("\xa0", " ")
    assert told == "Downforce: known only to ±0.15 gf, where ±0.05 gf is wanted."


def test_what_a_scale_told_is_in_no_doubt() -> None:
    person = Person("final_downforce", pinned(arm={"gf_per_turn": 2.0}))
    person.reads(*[{"way": "scale", "downforce_gf": 2.0}] * 3)
    assert not outcome_of(person.journey, "final_downforce").doubts
