"""Skating by recorded bands: a signed difference, fed to the solver of controls."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

from core.fitting import Assessment, Control, ControlChecked, MovePart, Reading, Verdict
from core.language import Numbers
from core.practice.instruments import INSTRUMENTS
from core.practice.played_record import CutBand, Playing
from core.practice.truth import skating_truth
from core.recordings import RecordingProblem
from core.records import BandUse, CutRecord, RecordBand, RecordPlayed
from core.steps.skating import BandsByTone, RisingBands
from core.steps.skating.readings import RecordedTracking
from core.workflow.descriptions import figure_value
from tests.core.practice.worlds import plain_world
from tests.examples import deck
from tests.kit import assessed, context, figure_of, move_of
from tests.sounding import last_of, written

LEVELS = (-14.0, -12.0, -10.0, -8.0, -6.0, -4.0, -2.0)


def tracking(left_db: float, right_db: float, **more: object) -> RecordedTracking:
    """Return bands whose channels break up at these levels."""
    bands = []
    for place, level in enumerate(LEVELS):
        trend = 0.4 * 10.0 ** ((level + 14.0) / 20.0)
        left, right = (
            trend * math.hypot(1.0, 10.0 ** (6.0 * (level - at) / 20.0))
            for at in (left_db, right_db)
        )
        bands.append(
            {
                "kind": "tracking",
                "side": "both",
                "hz": 315.0,
                "start_s": 6.0 * place,
                "end_s": 6.0 * place + 5.0,
                "level_db": level,
                "left_distortion_percent": left,
                "right_distortion_percent": right,
            }
        )
    told = {"file": "bands.wav", "channels": 2, "bands": bands} | more
    return RecordedTracking.model_validate(told)


def recorded(setting: float, apart_db: float) -> BandsByTone:
    """Return a recording on which the left breaks up so much later than the right."""
    told = tracking(-7.0 + 0.5 * apart_db, -7.0 - 0.5 * apart_db)
    return BandsByTone(setting=setting, recorded=told)


def turned(amount: float) -> MovePart:
    return MovePart(control=Control.SKATING, amount=amount, unit="gf")


def judged(*things: Reading | MovePart | ControlChecked) -> Assessment:
    return assessed(context("skating", things))


def test_the_right_first_wants_more_compensation_and_the_left_less() -> None:
    # Too little compensation presses the stylus on the inner wall, the left channel's: the right
    # one is let go of first (trade rule, held by the deck of vectors below).
    for apart, way, first in ((1.5, 1.0, "right"), (-1.5, -1.0, "left")):
        said = judged(recorded(2.0, apart))
        assert said.verdict is Verdict.MOVE
        assert math.copysign(1.0, move_of(said).parts[0].amount) == way
        figure = figure_of(said, "break_up")
        assert figure.value == pytest.approx(apart, abs=0.1)
        assert re.search(rf"\b{first}\b", Numbers().value(figure_value(figure)))
        assert figure.half_width is not None
        assert figure.half_width < 1.0


def test_alike_is_good_without_a_search() -> None:
    assert judged(recorded(2.0, 0.0)).headline.key == "skating.record_again"
    said = judged(*(recorded(2.0, apart) for apart in (0.1, -0.1, 0.0, 0.1)))
    assert said.verdict is Verdict.GOOD
    assert said.headline.key == "skating.balanced"
    assert said.method is not None
    assert said.method.key == "skating.by_tone"


def test_the_setting_that_was_ordered_is_recorded_anew() -> None:
    first = recorded(2.0, 1.5)
    amount = move_of(judged(first)).parts[0].amount
    assert judged(first, turned(amount)).verdict is Verdict.READ_AGAIN
    said = judged(first, turned(amount), recorded(2.0 + amount, 0.0))
    assert said.verdict in (Verdict.GOOD, Verdict.READ_AGAIN)
    assert figure_of(said, "break_up").value == pytest.approx(0.0, abs=0.5)


def test_by_ear_afterwards_the_search_goes_on() -> None:
    said = judged(recorded(2.0, 1.5), RisingBands(setting=2.0, broke_first="right"))
    assert said.method is not None
    assert said.method.key != "skating.by_tone"


def test_a_control_that_changes_nothing_is_asked_about_and_given_up() -> None:
    things: list[Reading | MovePart | ControlChecked] = [recorded(1.0, 2.0)]
    for _ in range(3):
        for mark in (3.0, 1.0):
            said = judged(*things)
            if said.verdict is Verdict.LEFT_AS_FOUND:
                return
            if said.questions:
                things.append(ControlChecked(control=Control.SKATING))
            things += [turned(2.0 if mark > 2.0 else -2.0), recorded(mark, 2.0)]
    raise AssertionError("it never ended")


@pytest.mark.parametrize("fault", ["mono", "swapped", "clipping", "gain", "hum", "clicks"])
def test_a_spoilt_recording_is_asked_about(fault: str) -> None:
    told = tracking(-6.0, -8.0, faults=[{"fault": fault}])
    said = judged(BandsByTone(setting=2.0, recorded=told))
    assert said.verdict is Verdict.READ_AGAIN
    assert said.headline.values["fault"] == fault
    assert said.figure("break_up") is None


def test_the_practice_deck_is_balanced_by_its_own_recordings() -> None:
    """Its mechanics are vectors, written apart; a hand obeys until the step is content."""
    balanced = 0
    for seed, factor in enumerate((0.5, 0.8, 1.0, 1.3, 1.6)):
        world, rng = plain_world(), np.random.default_rng(seed)
        rule = world.mean_side_force_gf() / world.skating_gf_per_mark
        world.skating.place = min(round(factor * rule, 1), world.deck.skating.highest_gf)
        things: list[Reading | MovePart] = []
        for _ in range(12):
            shown = INSTRUMENTS["skating", "bands by tone"](world, rng)
            things.append(shown.reading)
            said = assessed(context("skating", things, on=world.deck, fitted=world.cartridge))
            if said.verdict is not Verdict.MOVE:
                if said.verdict is Verdict.READ_AGAIN:
                    continue
                break
            (part,) = move_of(said).parts
            world.skating.place += part.amount
            things.append(part)
        assert said.verdict in (Verdict.GOOD, Verdict.LEFT_AS_FOUND)
        truth = skating_truth(world, by_ear=True)
        assert truth is not None
        balanced += abs(truth.ratio) <= 1.0
    assert balanced == 5


def test_a_file_is_read_and_bands_that_are_missing_are_refused(tmp_path: Path) -> None:
    cut = tuple(
        CutBand(315.0, 3.0, peak=0.1 * 10.0 ** (0.1 * step), gap_s=0.5) for step in range(4)
    )
    told = last_of(RecordedTracking.read(written(tmp_path / "a.wav", cut, Playing())))
    assert len(told.rising()) == 4
    assert told.break_up().first == "neither"
    with pytest.raises(RecordingProblem, match="Three rising bands"):
        last_of(RecordedTracking.read(written(tmp_path / "b.wav", cut[:2], Playing())))


def test_what_has_nothing_to_set_stays_so() -> None:
    on = deck(skating={"control": "none"})
    said = assessed(context("skating", [recorded(0.0, 1.0)], on=on))
    assert said.verdict is Verdict.NOTHING_TO_SET


def test_rising_bands_of_any_tone_are_found_where_the_record_is_described(tmp_path: Path) -> None:
    """400 Hz is no usual tone for tracking: only the record says what these bands are for."""
    cut = tuple(CutBand(400.0, 2.0, peak=0.05 * 10.0 ** (step / 10.0)) for step in range(4))
    path = written(tmp_path / "bands.wav", cut, Playing())
    with pytest.raises(RecordingProblem):
        last_of(RecordedTracking.read(path))
    bands = tuple(
        RecordBand(label=f"Tracking {place}", kind=BandUse.TRACKING, hz=400.0) for place in range(4)
    )
    played = RecordPlayed(id="a", record=CutRecord(name="Record A", bands=bands))
    assert len(last_of(RecordedTracking.read(path, played)).rising()) == 4
