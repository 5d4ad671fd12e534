"""A picture waits until somebody looks; an assessment is compared and copied without it."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from dataclasses import fields, replace
from unittest.mock import patch

import numpy as np
import pytest

from core.drawing.chart import Axis, Picture
from core.fitting import Assessment, Verdict
from core.steps import STEP_NAMES
from core.workflow.replay import Journey
from tests.kit import status_of
from tests.visits import fitting, past

AXIS = Axis("Place", "mm", 0.0, 1.0)
EMPTY = Picture("Nothing", "There is nothing to see.", AXIS, AXIS)


@pytest.fixture
def drawn() -> Iterator[list[str]]:
    """Titles of the pictures made while this lasts."""
    titles: list[str] = []
    make = Picture.__init__

    def noted(self: Picture, title: str, *rest: object, **more: object) -> None:
        titles.append(title)
        make(self, title, *rest, **more)

    with patch.object(Picture, "__init__", noted):
        yield titles


def whole() -> Journey:
    """Fold a fitting that has something to see in every step."""
    return past(fitting("2026-01-02")).journey


def test_a_log_is_folded_without_one_picture(drawn: list[str]) -> None:
    journey = whole()
    assert drawn == []
    pictures = [status_of(journey, name).assessment.picture for name in STEP_NAMES]
    assert drawn == [picture.title for picture in pictures]


def told(picture: object) -> object:
    """Return everything in a picture as plain values, arrays as lists."""
    if isinstance(picture, np.ndarray):
        return picture.tolist()
    if isinstance(picture, tuple):
        return [told(one) for one in picture]
    if hasattr(picture, "__dataclass_fields__"):
        return [type(picture), *(told(getattr(picture, f.name)) for f in fields(picture))]
    return picture


@pytest.mark.parametrize("name", STEP_NAMES)
def test_an_assessment_and_its_picture_outlive_pickling(name: str) -> None:
    said = status_of(whole(), name).assessment
    copy = pickle.loads(pickle.dumps(said))  # noqa: S301  # our own bytes
    assert copy == said
    assert hash(copy) == hash(said)
    assert told(copy.picture) == told(said.picture)


def test_a_ready_picture_is_handed_on_as_it_is() -> None:
    said = Assessment(Verdict.GOOD, "Good.", EMPTY)
    assert said.picture is EMPTY
    assert replace(said, headline="Better.").picture is EMPTY


def test_what_is_said_decides_whether_two_answers_are_the_same() -> None:
    def never() -> Picture:
        raise AssertionError("nobody looked")

    said = Assessment(Verdict.GOOD, "Good.", never)
    assert said == Assessment(Verdict.GOOD, "Good.", EMPTY)
    assert said != replace(said, headline="Better.")
    assert "Good." in repr(said)
