"""Speed by a recorded tone alone, from the tone's pitch to what is told, worked by hand.

A record may be cut up to 0.5 % off (IEC 60098:2020, seen); taken as evenly likely within that, it
is 0.5 / sqrt(3) = 0.289 % one standard uncertainty, and 1.96 times that is 0.566 %: what a tone
alone leaves open. The screw turns 33 1/3 rpm by 0.4 rpm a turn: 1.2 % (derived).
"""

from __future__ import annotations

from typing import Any

import pytest

from core.fitting import Assessment, Control, Figure, Verdict
from tests.outside.told import Person, moved, pinned, said, says
from tests.worked import Read

OPEN = 0.566


def tone(
    error_percent: float, rpm: float = 100.0 / 3.0, *, radius_mm: Any = None, **told: Any
) -> Read:
    """Return the reading of half a minute of 3,150 Hz that came out so much too high."""
    hz = 3150.0 * (1.0 + error_percent / 100.0)
    band = {"kind": "speed", "side": "both", "hz": hz, "start_s": 0, "end_s": 30, "level_db": -10}
    speed = {"hz": hz, "nominal_hz": 3150.0, "start_s": 0.0, "seconds": 30.0, **told}
    file = {"file": "tone.wav", "seconds": 30.0, "channels": 2, "bands": [band], "speed": speed}
    return {"way": "tone", "recorded": file, "speed_rpm": rpm, "radius_mm": radius_mm}


def at_both(first: float, second: float, *, one_trim: bool) -> Assessment:
    """Return what is told after 33 1/3 and 45 were read so far off."""
    person = Person("speed", pinned(platter={"one_trim_for_all": one_trim}))
    return person.reads(tone(first), tone(second, 45.0))


@pytest.mark.parametrize(("first", "second"), [(0.9, -0.9), (-0.9, 0.9), (0.3, -0.3)])
def test_one_trim_between_two_speeds_alike_off_is_left_until_a_strobe_tells(
    first: float, second: float
) -> None:
    # Half of both sums is 0: no turn makes the worse of them better, and a record tells no more.
    answer = at_both(first, second, one_trim=True)
    assert answer.verdict is Verdict.READ_AGAIN
    assert not moved(answer)
    assert answer.next_reading is not None
    assert (answer.next_reading.way, answer.next_reading.values) == (
        "strobe",
        {"speed_rpm": pytest.approx(100.0 / 3.0)},
    )


@pytest.mark.parametrize(
    ("first", "second", "turns", "way", "other"),
    [
        # Half of the sum is 0.7 %: 0.233 rpm of 33 1/3, over 0.4 rpm a turn.
        (0.4, 1.0, -0.583, "anticlockwise", " clockwise"),
        (0.0, 1.4, -0.583, "anticlockwise", " clockwise"),
        (-0.4, -1.0, 0.583, " clockwise", "anticlockwise"),
        (0.0, -1.4, 0.583, " clockwise", "anticlockwise"),
    ],
)
def test_one_trim_is_aimed_between_both_speeds(
    first: float, second: float, turns: float, way: str, other: str
) -> None:
    answer = at_both(first, second, one_trim=True)
    assert answer.verdict is Verdict.MOVE
    ((control, _, amount, unit),) = moved(answer)
    assert (control, unit) == (Control.SPEED, "turns")
    assert amount == pytest.approx(turns, abs=0.01)
    says(answer, way, other)


@pytest.mark.parametrize(("first", "second"), [(0.9, 0.0), (-0.9, 0.0)])
def test_with_a_trim_each_the_first_speed_alone_is_judged(first: float, second: float) -> None:
    answer = at_both(first, second, one_trim=False)
    assert answer.verdict is Verdict.MOVE
    ((_, where, amount, _),) = moved(answer)
    assert where.startswith("33")
    assert amount * first < 0.0


@pytest.mark.parametrize(
    ("off", "verdict"),
    [
        (OPEN - 0.02, Verdict.READ_AGAIN),
        (-OPEN + 0.02, Verdict.READ_AGAIN),
        (OPEN + 0.02, Verdict.MOVE),
        (-OPEN - 0.02, Verdict.MOVE),
    ],
)
def test_a_tone_alone_orders_a_move_only_beyond_what_a_record_may_be_off(
    off: float, verdict: Verdict
) -> None:
    answer = Person("speed").reads(tone(off))
    assert answer.verdict is verdict
    figure = answer.figure("speed_error_33")
    assert figure is not None
    assert figure.half_width == pytest.approx(OPEN, abs=0.001)


VARIES = {
    "weighted_percent": 0.2,
    "steady_weighted_percent": 0.04,
    "unweighted_percent": 0.5,
    "steady_unweighted_percent": 0.1,
    "once_per_turn_percent": 1.0 / 3.0,
    "drift_s": [0.0, 10.0],
    "drift_line_percent": [0.015, -0.015],
    "drift_percent": -0.03,
}


def figures(**more: Any) -> dict[str, Figure]:
    told = Person("speed").reads(tone(0.0, **{**VARIES, **more})).figures
    return {figure.key: figure for figure in told}


@pytest.mark.parametrize(
    ("key", "value", "half"),
    [
        # 3 % of it, where that is more than 0.002 %: our own, held by tests of the tones.
        ("fluctuation", 0.2, 0.006),
        ("fluctuation_steady", 0.04, 0.002),  # 3 % of it would be 0.0012
        ("fluctuation_unweighted", 0.5, 0.015),
        ("fluctuation_steady_unweighted", 0.1, 0.003),
        ("once_per_turn", 0.3333, 0.010),
        ("drift", -0.03, 0.002),
    ],
)
def test_what_varies_is_told_with_how_well_that_is_known(
    key: str, value: float, half: float
) -> None:
    figure = figures()[key]
    assert (figure.value, figure.unit) == (pytest.approx(value, abs=1e-4), "%")
    assert figure.half_width == pytest.approx(half, abs=1e-5)
    assert figure.target is None


def test_a_drift_says_which_way_it_went() -> None:
    ways = figures()["drift"].ways
    assert ways is not None
    assert tuple(map(said, ways)) == ("faster", "slower")
    assert "drift" not in figures(drift_s=[], drift_line_percent=[])


def test_a_hole_off_centre_is_told_in_millimetres_where_the_radius_is_known() -> None:
    # e / r is the peak of what comes once a turn (derived): a third of a percent at 60 mm is
    # 0.2 mm, known to 3 % of it: 0.006 mm. At 0.01 % the floor counts, 0.002 % of 60 mm: 0.0012 mm.
    figure = figures(radius_mm=60.0)["off_centre"]
    assert (figure.value, figure.unit) == (pytest.approx(0.2, abs=1e-6), "mm")
    assert figure.half_width == pytest.approx(0.006, abs=1e-6)
    small = figures(radius_mm=60.0, once_per_turn_percent=0.01)["off_centre"]
    assert small.value == pytest.approx(0.006)
    assert small.half_width == pytest.approx(0.0012, abs=1e-6)
    assert "off_centre" not in figures()


def notes(**more: Any) -> str:
    answer = Person("speed").reads(tone(0.0, **{**VARIES, **more}))
    return said(*answer.notes).replace("\u00a0", " ")


def test_without_a_radius_the_hole_is_told_at_both_ends_of_the_record() -> None:
    # A third of a percent: 60.325 mm (IEC 60098, second-hand) gives 0.201, 146.05 mm 0.487.
    told = notes()
    assert "0.20 mm off centre at a radius of 60 mm" in told
    assert "0.49 mm" in told
    assert "146 mm" in told
    assert "0.20 mm off centre at a radius" not in notes(radius_mm=60.0)
    assert "0.20 mm off centre" not in notes(once_per_turn_percent=None)


def test_a_tone_too_short_for_the_meter_says_so() -> None:
    short = [note.key for note in Person("speed").reads(tone(0.0)).notes]
    assert "speed.note.tone_too_short" in short
    assert "speed.note.fluctuation" not in short
    long = [note.key for note in Person("speed").reads(tone(0.0, **VARIES)).notes]
    assert "speed.note.fluctuation" in long
    assert "speed.note.tone_too_short" not in long


def test_the_last_recording_is_told_and_none_without_one() -> None:
    person = Person("speed")
    answer = person.reads(tone(0.0, **VARIES), tone(0.0, **{**VARIES, "weighted_percent": 0.1}))
    figure = answer.figure("fluctuation")
    assert figure is not None
    assert figure.value == 0.1
    strobe = {"way": "strobe", "direction": "standing", "seconds": 60.0}
    assert Person("speed").reads(strobe).figure("fluctuation") is None


def test_the_speed_that_was_named_is_told_else_the_decks_first() -> None:
    unnamed = {**tone(0.0, **VARIES), "speed_rpm": None}
    for reading, label in ((unnamed, "33⅓"), (tone(0.0, 45.0, **VARIES), "45")):
        person = Person("speed", pinned(platter={"one_trim_for_all": False}))
        figure = person.reads(unnamed, reading).figure("fluctuation")
        assert figure is not None
        assert label in said(figure.label)


def test_a_hole_whose_place_is_known_is_said_to_be_the_records() -> None:
    def keys(**more: Any) -> list[str]:
        answer = Person("speed").reads(tone(0.0, **{**VARIES, **more}))
        return [note.key for note in answer.notes]

    assert "speed.note.hole_is_the_record" in keys(radius_mm=60.0)
    assert "speed.note.hole_is_the_record" not in keys()
    assert "speed.note.hole_is_the_record" not in keys(radius_mm=60.0, once_per_turn_percent=None)


def test_what_a_record_and_a_clock_may_be_off_is_said() -> None:
    # 0.5 % by the standard (IEC 60098); a sound card's clock 50 to 100 ppm, 0.01 % (practice).
    told = notes()
    assert "0.5 %" in told
    assert "0.01 %" in told
