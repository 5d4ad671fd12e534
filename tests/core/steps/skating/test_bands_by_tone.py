"""Skating by recorded bands: a signed difference, fed to the solver of controls."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from core.fitting import Assessment, Control, ControlChecked, MovePart, Reading, Verdict
from core.language import Numbers
from core.practice.instruments import INSTRUMENTS
from core.practice.played_record import CutBand, Playing
from core.practice.truth import skating_truth
from core.recordings import RecordingProblem
from core.records import BandUse, CutRecord, RecordBand, RecordPlayed
from core.steps.downforce.weighings import ScaleReading
from core.steps.skating import BandsByTone, RisingBands
from core.steps.skating.force import side_force_of
from core.steps.skating.readings import RecordedTracking
from core.workflow.descriptions import figure_value
from tests.core.practice.worlds import plain_world
from tests.examples import deck
from tests.kit import BEGAN, assessed, context, figure_of, move_of, trial
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


def played(tmp_path: Path, downforce_gf: float, side_gf: float = 0.0) -> RecordedTracking:
    """Return what bands rising by 1.5 dB tell; the generator's own second harmonic rises too."""
    cut = tuple(
        CutBand(315.0, 3.0, peak=0.05 * louder, gap_s=0.5, harmonics=(0.004 * louder,))
        for louder in (10.0 ** (np.arange(0.0, 13.0, 1.5) / 20.0)).tolist()
    )
    playing = Playing(
        0.2, downforce_gf=downforce_gf, side_gf=side_gf, holds_per_gf=0.06, noise_db=-55.0
    )
    return last_of(RecordedTracking.read(written(tmp_path / "a.wav", cut, playing)))


@pytest.mark.long
@pytest.mark.parametrize(("downforce_gf", "side_gf"), [(2.0, 0.2), (2.0, -0.2), (1.6, 0.1)])
def test_a_played_record_breaks_up_as_skating_presses_its_walls(
    tmp_path: Path, downforce_gf: float, side_gf: float
) -> None:
    # Each wall stands at 45 degrees: the downforce presses both alike, a pull toward the spindle
    # more on the inner one, the left channel's. So they break up at peaks as (W + S) : (W - S)
    # (derived). Too much pull wants more compensation (common practice).
    told = played(tmp_path, downforce_gf, side_gf)
    assert not told.faults
    broke = told.break_up()
    assert broke.first == ("right" if side_gf > 0.0 else "left")
    assert broke.difference is not None
    truth = 20.0 * math.log10((downforce_gf + side_gf) / (downforce_gf - side_gf))
    assert abs(broke.difference.value - truth) <= broke.difference.half_width()
    moved = move_of(judged(BandsByTone(setting=2.0, recorded=told))).parts[0].amount
    assert math.copysign(1.0, moved) == math.copysign(1.0, side_gf)


@pytest.mark.long
def test_less_downforce_breaks_up_sooner(tmp_path: Path) -> None:
    levels = []
    for downforce_gf in (1.5, 2.0):
        left_db = played(tmp_path, downforce_gf).break_up().left_db
        assert left_db is not None
        levels.append(left_db)
    # Loads as 1.5 : 2 hold peaks as that (derived). Each level is read to 0.3 dB, and at the
    # louder one the generator's own distortion has grown by a third.
    assert levels[1] - levels[0] == pytest.approx(20.0 * math.log10(2.0 / 1.5), abs=0.7)


def test_what_has_nothing_to_set_stays_so() -> None:
    on = deck(skating={"control": "none"})
    said = assessed(context("skating", [recorded(0.0, 1.0)], on=on))
    assert said.verdict is Verdict.NOTHING_TO_SET


def test_near_enough_is_the_way_to_the_notch_beside_not_to_the_first_one() -> None:
    # Levers of 8, 11 and 14 mm: off to notch 1 is 8 mm, from notch to notch 3. By moments a weight
    # of 3 g at 230 mm makes 0.104, 0.143 and 0.183 gf (derived), so that notch 2 is beside its
    # neighbours within 0.35 dB at 2 gf, and 0.8 dB off is no balance there.
    on = deck(
        skating={
            "control": "thread weight",
            "thread_weight_g": 3.0,
            "notch_levers_mm": (8.0, 11.0, 14.0),
        }
    )
    said = assessed(context("skating", [recorded(2.0, 0.8)], on=on))
    assert said.verdict is Verdict.MOVE
    figure = figure_of(said, "break_up")
    assert figure.tolerance is not None
    assert figure.tolerance == pytest.approx(20.0 * math.log10(2.04 / 1.96), rel=0.25)


def test_at_its_end_a_control_that_shows_little_is_not_called_dead() -> None:
    # 3 gf is the last mark. Half a mark more takes off about 0.5 dB, read to 0.7 dB: nothing shows.
    things = (recorded(2.5, 1.8), turned(0.5), recorded(3.0, 1.6))
    said = judged(*things)
    assert said.verdict is Verdict.LEFT_AS_FOUND
    assert said.headline.key == "skating.at_the_end"
    assert not said.questions


def test_on_a_straight_arm_no_setting_is_right_to_a_hair() -> None:
    """Its pull goes from one sign to the other over a record: what is left of it is no fault."""
    straight = deck(
        arm={
            "kind": "pivoted straight",
            "effective_length_mm": 222.0,
            "offset_deg": 0.0,
            "pivot_to_spindle_mm": 235.0,
        }
    )
    force = side_force_of(context("skating", on=straight))
    assert force is not None
    # Worked out at both ends by the law of cosines, friction 0.25 to 0.3.
    ends = [
        share * force.downforce_gf * (radius**2 + 222.0**2 - 235.0**2) / (2.0 * 222.0 * radius)
        for radius in (60.325, 146.05)
        for share in (0.25, 0.3)
    ]
    assert force.covers_gf() == pytest.approx(0.5 * (max(ends) - min(ends)), rel=0.02)
    said = assessed(context("skating", [recorded(0.0, 0.2)], on=straight))
    assert said.verdict is Verdict.GOOD


def test_another_downforce_is_no_reason_to_forget() -> None:
    """What the dial does is known from before: one recording, one move, one recording."""

    def weighed(gf: float, after_min: float) -> Any:
        return replace(
            trial(ScaleReading(downforce_gf=gf)), at=BEGAN + timedelta(minutes=after_min)
        )

    def at(thing: Reading | MovePart, after_min: float) -> Any:
        return replace(trial(thing), at=BEGAN + timedelta(minutes=after_min))

    weight = MovePart(control=Control.COUNTERWEIGHT, amount=1.0, unit="turns")
    log = {
        "rough_downforce": (weighed(2.0, 0),),
        "skating": tuple(
            at(thing, minute)
            for minute, thing in enumerate(
                (recorded(1.0, 2.0), turned(1.0), recorded(2.0, 0.0), recorded(2.0, 0.1)), 1
            )
        ),
        "final_downforce": (at(weight, 10), weighed(2.6, 11)),
    }
    log["skating"] += (at(recorded(2.0, 0.9), 12),)
    said = assessed(context("skating", log=log))
    assert said.verdict is Verdict.MOVE
    (part,) = move_of(said).parts
    # It balanced at 2.0 for 2 gf, so for 2.6 gf it does at 2.6 (in proportion): 0.6 more, where the
    # dial's own stated 0.78 dB a gf alone would ask for 1.15.
    assert part.amount == pytest.approx(0.6, abs=0.2)


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
