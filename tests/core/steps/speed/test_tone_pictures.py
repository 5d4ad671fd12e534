"""The pictures of a tone: kept with the reading, in units, marked where the deck states rates."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pydantic import ValidationError

from core.drawing.chart import Curve, Picture, Rule, Tag
from core.fitting import Assessment
from core.language import Numbers
from core.practice.played_record import CutBand, Playing, Wave
from core.recordings import beside
from core.steps.speed import Tone
from core.steps.speed.tone import RecordedTone
from tests.examples import deck
from tests.kit import assessed, context, figure_of
from tests.sounding import heard

BELT = {"belt_mm": 470.0, "belt_runs_on_mm": 150.0, "motor_rpm": 250.0}


@pytest.fixture(scope="module")
def told() -> RecordedTone:
    playing = Playing(0.2, (Wave(250.0 / 60.0, 0.08),), hole_mm=0.2, radius_mm=100.0)
    return RecordedTone.from_heard(beside("a.wav", heard((CutBand(3150.0, 40.0),), playing), None))


def said_of(told: RecordedTone, **platter: float) -> Assessment:
    again = RecordedTone.model_validate_json(told.model_dump_json())  # as from the log
    return assessed(context("speed", [Tone(recorded=again)], on=deck(platter=platter)))


def pictures_of(said: Assessment) -> dict[str, Picture]:
    return {Numbers().text(one.name): one.draw() for one in said.more_pictures}


def test_a_reading_reopened_shows_turn_spectrum_and_drift(told: RecordedTone) -> None:
    assert list(pictures_of(said_of(told))) == ["The turn", "Spectrum", "Drift"]
    assert len(told.model_dump_json()) < 6_000


def test_a_reading_of_before_has_no_more_pictures(told: RecordedTone) -> None:
    assert told.speed is not None
    none = dict.fromkeys(("turn_percent", "spectrum_hz", "spectrum_percent"), ()) | {
        "drift_s": (),
        "drift_line_percent": (),
    }
    before = told.model_copy(update={"speed": told.speed.model_copy(update=none)})
    assert said_of(before).more_pictures == ()


def test_the_turn_is_round_and_bulges_where_it_is_fastest(told: RecordedTone) -> None:
    picture = pictures_of(said_of(told))["The turn"]
    assert picture.fixed_aspect
    (curve,) = [
        one
        for one in picture.items
        if isinstance(one, Curve) and one.label and Numbers().text(one.label) == "As heard"
    ]
    radius = np.hypot(curve.x, curve.y)
    assert told.speed is not None
    assert told.speed.fastest_deg is not None
    # clockwise from the top, as the platter turns seen from above
    place = math.degrees(math.atan2(curve.x[np.argmax(radius)], curve.y[np.argmax(radius)]))
    assert abs((place - told.speed.fastest_deg + 180.0) % 360.0 - 180.0) < 12.0
    # a ring is 0.2 %; 0.2 mm at 100 mm is a peak of 0.2 % (derived): one ring out, one in
    assert radius.max() - radius.min() == pytest.approx(2.0, rel=0.1)
    assert "0.200" in Numbers().text(picture.summary)
    assert "Rings" in Numbers().text(picture.scale_note or "")


def test_the_spectrum_is_marked_where_the_deck_states_rates(told: RecordedTone) -> None:
    marks = {
        Numbers().text(one.label).replace("\u00a0", " "): 10.0**one.at
        for one in pictures_of(said_of(told, **BELT))["Spectrum"].items
        if isinstance(one, Rule) and one.label
    }
    # Derived: the platter makes 33 1/3 turns in 60 s, the motor 250, and a belt of 470 mm round
    # 150 mm comes round 1.0026 times a turn.
    assert marks == {
        "Platter 0.56 Hz": pytest.approx(0.5556, abs=1e-4),
        "Belt 0.56 Hz": pytest.approx(0.5570, abs=1e-4),
        "Motor 4.17 Hz": pytest.approx(4.1667, abs=1e-4),
    }
    # The names of the marks stand inside the chart, each a line below the one before.
    chart = pictures_of(said_of(told, **BELT))["Spectrum"]
    tags = [one.y for one in chart.items if isinstance(one, Tag)]
    assert chart.y.high > tags[0] > tags[1] > tags[2] > 0.8 * chart.y.high
    plain = pictures_of(said_of(told))["Spectrum"]
    assert sum(isinstance(one, Rule) for one in plain.items) == 1
    said = Numbers().text(pictures_of(said_of(told, **BELT))["Spectrum"].summary)
    assert "At the motor's 4.17\u00a0Hz: ±0.080\u00a0%." in said


def test_motor_and_belt_are_marked_at_each_speed_they_were_stated_for(told: RecordedTone) -> None:
    at_45 = deck(platter=BELT | {"speeds_rpm": (33.333333, 45.0), "motor_other_rpm": (337.5,)})
    said = assessed(context("speed", [Tone(recorded=told, speed_rpm=45.0)], on=at_45))
    marks = {
        Numbers().text(one.label).replace("\u00a0", " "): 10.0**one.at
        for one in pictures_of(said)["Spectrum"].items
        if isinstance(one, Rule) and one.label
    }
    # By hand: 45 / 60; 0.75 x 1.00265; 337.5 / 60, the same pulley at 45 / 33 1/3 of 250.
    assert marks == {
        "Platter 0.75 Hz": pytest.approx(0.75, abs=1e-4),
        "Belt 0.75 Hz": pytest.approx(0.7520, abs=1e-4),
        "Motor 5.62 Hz": pytest.approx(5.625, abs=1e-4),
    }


def test_the_motor_is_stated_for_all_other_speeds_or_for_none() -> None:
    with pytest.raises(ValidationError, match="one number for each speed but the first"):
        deck(platter=BELT | {"motor_other_rpm": (250.0, 250.0)})


def test_a_motor_is_marked_at_the_speed_it_was_stated_for_alone() -> None:
    platter = deck(platter=BELT).platter
    assert platter.motor_hz(33.35) == pytest.approx(250.0 / 60.0)
    assert platter.motor_hz(45.0) is None
    assert platter.belt_hz(45.0) == pytest.approx(45.0 / 60.0 * math.pi * 150.0 / 470.0)


def test_axes_have_units_and_the_figures_stand_beside(told: RecordedTone) -> None:
    said = said_of(told)
    pictures = pictures_of(said)
    assert (pictures["Spectrum"].x.unit, pictures["Spectrum"].y.unit) == ("Hz", "%")
    assert (pictures["Drift"].x.unit, pictures["Drift"].y.unit) == ("s", "%")
    for key in ("fluctuation", "fluctuation_steady", "fluctuation_unweighted"):
        assert figure_of(said, key).unit == "%"
    assert (
        figure_of(said, "fluctuation_steady_unweighted").value
        < figure_of(said, "fluctuation_unweighted").value
    )
    assert figure_of(said, "drift").value == pytest.approx(0.0, abs=0.002)


@pytest.mark.parametrize("missing", ["once_per_turn_percent", "fastest_deg"])
def test_a_turn_without_its_own_part_or_place_is_told_by_its_ends_alone(
    told: RecordedTone, missing: str
) -> None:
    assert told.speed is not None
    whole = pictures_of(said_of(told))["The turn"].summary
    assert "fastest_deg" not in whole.values
    assert set(whole.values) == {"fast", "slow", "peak", "at"}
    # It is round its own mean: what is slow is told as so much slow, not as less than nothing.
    assert max(told.speed.turn_percent) > 0.0 > min(told.speed.turn_percent)
    ends = [getattr(whole.values[one], "value", None) for one in ("fast", "slow")]
    assert ends == [max(told.speed.turn_percent), -min(told.speed.turn_percent)]
    less = told.model_copy(update={"speed": told.speed.model_copy(update={missing: None})})
    assert set(pictures_of(said_of(less))["The turn"].summary.values) == {"fast", "slow"}


def test_the_rates_beneath_the_spectrum_are_written_as_they_are(told: RecordedTone) -> None:
    ticks = pictures_of(said_of(told))["Spectrum"].x.ticks
    assert len(ticks) > 3
    for at, name in ticks:
        written = Numbers().text(name)
        assert float(written) == pytest.approx(10.0**at)
        assert ("." in written) is (10.0**at < 0.99)
