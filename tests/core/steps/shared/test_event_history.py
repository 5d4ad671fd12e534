"""Moves of other steps find their place between a step's own readings."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fitting import Context, Control, MovePart, Trial
from core.language import Message, message
from core.steps import STEPS, step_named
from core.steps.arm_height import TubeAngle
from core.steps.shared import Effect, Elsewhere, history, together
from core.steps.shared.arm_moves import made_to_share
from tests.examples import cartridge, deck
from tests.strategies import cartridges, decks, trials

pytestmark = pytest.mark.long

NOON = datetime(2024, 1, 1, 12, tzinfo=UTC)


def at(hour: float) -> datetime:
    return NOON + timedelta(hours=hour)


def record(hour: float | None) -> Trial:
    part = MovePart(control=Control.RECORD, amount=1.0, unit="mm")
    return Trial(at=None if hour is None else at(hour), moves=(part,))


def seen(*moves: Trial) -> list[str]:
    own = tuple(Trial(at=at(hour), reading=TubeAngle(pitch_deg=0.0)) for hour in (0.0, 2.0))
    context = Context("arm_height", deck(), cartridge(), log={"arm_height": own, "tilt": moves})
    return [
        "move" if isinstance(event, Elsewhere) else "own"
        for event in history(context, step_named(context.step).disturbed_by)
    ]


def test_a_move_between_two_readings_stands_between_them() -> None:
    assert seen(record(1.0)) == ["own", "move", "own"]


def test_a_move_before_the_first_or_after_the_last_reading_is_left_out() -> None:
    assert seen(record(-1.0), record(3.0)) == ["own", "own"]


def test_a_move_of_unknown_time_is_left_out() -> None:
    assert seen(record(None)) == ["own", "own"]


def test_a_move_that_disturbs_another_step_is_left_out() -> None:
    slide = MovePart(control=Control.SLIDE, amount=1.0, unit="mm")
    assert seen(Trial(at=at(1.0), moves=(slide,))) == ["own", "own"]


def test_an_impossible_roll_foretells_nothing() -> None:
    roll = MovePart(control=Control.TILT, amount=90.0, unit="°")
    own = tuple(Trial(at=at(hour), reading=TubeAngle(pitch_deg=0.0)) for hour in (0.0, 2.0))
    short = deck(
        arm={"kind": "parallel tracking", "pivot_to_spindle_mm": None, "effective_length_mm": 20.0}
    )
    context = Context(
        "arm_height",
        short,
        cartridge(body_height_mm=40.0),
        log={"arm_height": own, "tilt": (Trial(at=at(1.0), moves=(roll,)),)},
    )
    assert step_named("arm_height").assess(context).figure("height") is not None


def test_all_effects_on_one_figure_count() -> None:
    part = MovePart(control=Control.TILT_SHIM, amount=0.2, unit="mm")
    why = Message("disturbance.shim_lowers")
    two = tuple(Effect("arm_height", "height", mm, why, 0.03) for mm in (-0.1, 0.02))
    change = Elsewhere(part, two).change("height")
    assert change is not None
    assert change.value == pytest.approx(-0.08)
    assert change.standard_uncertainty == pytest.approx(0.03 * 2**0.5)
    unknown = Effect("arm_height", "height", None, why)
    assert Elsewhere(part, (*two, unknown)).change("height") is None


@pytest.mark.parametrize("name", ["arm_height", "alignment", "tilt"])
@given(data=st.data())
@settings(max_examples=40)
def test_any_moves_anywhere_at_any_time_get_an_answer(name: str, data: st.DataObject) -> None:
    log = {}
    for step in STEPS:
        drawn = data.draw(trials(step))
        hours = data.draw(
            st.lists(st.floats(0, 9), min_size=len(drawn), max_size=len(drawn)).map(sorted)
        )
        log[step.NAME] = tuple(
            Trial(at=at(hour), reading=trial.reading, moves=trial.moves)
            for hour, trial in zip(hours, drawn, strict=True)
        )
    said = step_named(name).assess(
        Context(name, data.draw(decks()), data.draw(cartridges()), log=log)
    )
    assert said.headline
    assert all(figure.value == figure.value for figure in said.figures)


def test_an_uncertainty_beyond_all_measure_is_still_added() -> None:
    far = Effect("tilt", "tilt", 0.0, message("disturbance.arm_pitches"), 1e200)
    found = together([far, far])
    assert found is not None
    assert found.standard_uncertainty == pytest.approx(math.sqrt(2.0) * 1e200)


def test_a_move_of_next_to_nothing_is_foretold_with_a_finite_share() -> None:
    part = MovePart(control=Control.RECORD, amount=0.0, unit="mm", equivalent_mm=2e-309)
    assert made_to_share(part, deck()) == pytest.approx(0.1)
