"""Tilt by recorded leaks: one setting tells little, two the best within a tenth of a degree."""

from __future__ import annotations

import cmath
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from core.fitting import Reading, Verdict
from core.language import Numbers
from core.physics.crosstalk import LeakReading, fit_crosstalk
from core.practice.played_record import CutBand, Playing
from core.recordings import RecordingProblem
from core.records import CutOn
from core.steps.tilt import LeakByTone
from core.steps.tilt.readings import RecordedLeak
from tests.core.practice.worlds import plain_world
from tests.core.steps.tilt.kit import judged, on_control, value
from tests.examples import deck
from tests.kit import move_of
from tests.sounding import last_of, written
from tests.truth import Held, TruthComesBack, held_by

LEFT, RIGHT = CutBand(1000.0, 4.0, "left", gap_s=1.0), CutBand(1000.0, 4.0, "right")
BEST = 4.0
OWN = 0.012 + 0.028j, -0.006 - 0.02j


def leaks(setting_deg: float, best_deg: float, own: tuple[complex, complex] = OWN) -> list[complex]:
    """Return both leaks of a 45/45 groove, as phasors turned by the lean itself."""
    lean = math.radians(setting_deg - best_deg)
    # A wall's motion of 1 along its own normal, heard along normals turned by the lean: sine over
    # cosine of the angle between them (geometry), and the generator's own beside it.
    return [
        own[0] + math.sin(lean) / math.cos(lean),
        own[1] - math.sin(lean) / math.cos(lean),
    ]


def least_sum(best_deg: float, own: tuple[complex, complex] = OWN) -> float:
    """Return the setting at which least leaks in all, looked for by scipy, not solved."""

    def power(setting: float) -> float:
        return sum(abs(one) ** 2 for one in leaks(setting, best_deg, own))

    found = minimize_scalar(power, bounds=(-10.0, 10.0), method="bounded", options={"xatol": 1e-9})
    return float(found.x)


def phasor(leak: complex) -> tuple[float, float]:
    return 20.0 * math.log10(abs(leak)), math.degrees(cmath.phase(leak))


def recorded(setting_deg: float, best_deg: float, turn_deg: float = 0.0, **more: Any) -> LeakByTone:
    bands = []
    for at, (side, leak) in enumerate(
        zip(("left", "right"), leaks(setting_deg, best_deg), strict=True)
    ):
        db, deg = phasor(leak * cmath.exp(1j * math.radians(turn_deg)))
        bands.append(
            {
                "kind": "separation",
                "side": side,
                "hz": 1000.0,
                "start_s": 6.0 * at,
                "end_s": 6.0 * at + 5.0,
                "level_db": -12.0,
                "leak_db": db,
                "leak_deg": deg,
            }
        )
    told = {"file": "bands.wav", "channels": 2, "bands": bands} | more
    return LeakByTone.model_validate({"recorded": told, "setting_deg": setting_deg})


class TestTwoRecordedSettings(TruthComesBack):
    """As a recording at noise of -65 dB tells leaks: size, sign, and noise of its own."""

    def attempt(self, rng: np.random.Generator) -> Held:
        own = tuple(complex(*rng.normal(0.0, 0.02, 2)) for _ in range(2))
        best = float(rng.uniform(-3.0, 3.0))
        readings = []
        for setting in (0.0, float(rng.choice([-1.0, 1.0]) * rng.uniform(0.8, 2.0))):
            seen = []
            for leak in leaks(setting, best, (own[0], own[1])):
                off = complex(*rng.normal(0.0, 0.15 * math.log(10.0) / 20.0, 2))
                seen.append(leak * cmath.exp(off) + complex(*rng.normal(0.0, 1e-4, 2)))
            (left, left_deg), (right, right_deg) = map(phasor, seen)
            readings.append(LeakReading(setting, left, right, left_deg, right_deg))
        fit = fit_crosstalk(readings, leak_standard_uncertainty_db=0.15, leak_floor=1e-4)
        assert fit is not None
        return {"best": held_by(least_sum(best, (own[0], own[1])), fit.best_deg)}


@pytest.fixture(scope="module")
def from_files(tmp_path_factory: pytest.TempPathFactory) -> list[Reading]:
    """Return readings of two recordings at -65 dB of noise, 1.5 degrees apart."""
    folder, made = tmp_path_factory.mktemp("leak"), []
    for setting in (0.0, 1.5):
        left, right = (phasor(leak) for leak in leaks(setting, BEST))
        playing = Playing(into_right=left, into_left=right, noise_db=-65.0, seed=round(setting) + 1)
        path = written(folder / f"{setting}.wav", (LEFT, RIGHT), playing)
        told = last_of(RecordedLeak.read(path))
        made.append(LeakByTone(recorded=told, setting_deg=setting))
    return list(made)


def test_two_recordings_find_the_least_leak_within_a_tenth_of_a_degree(
    from_files: list[Reading],
) -> None:
    said = judged(from_files)
    assert value(said, "best_setting") == pytest.approx(least_sum(BEST), abs=0.1)
    assert said.verdict is Verdict.MOVE
    # The head stands at 1.5 and belongs further: the left side rises, plus as the log keeps it.
    assert move_of(said).parts[0].amount == pytest.approx(least_sum(BEST) - 1.5, abs=0.15)


def test_one_recording_asks_for_a_second_setting_toward_the_better_side() -> None:
    for best in (2.3, -2.3):
        said = judged([recorded(0.0, best)])
        assert said.verdict is Verdict.MOVE
        turned = move_of(said).parts[0].amount
        assert math.copysign(1.0, turned) == math.copysign(1.0, best)
        assert 1.0 <= abs(turned) <= 2.0
        tilt = said.figure("tilt")
        assert tilt is not None
        assert tilt.half_width is not None
        assert tilt.half_width > 2.0  # nothing is called good by one
        assert any("second setting" in str(note) for note in said.notes)
    near = judged([recorded(0.0, 0.1, 0.0)])
    assert near.verdict is Verdict.MOVE


BOTH = {"kind": "speed", "side": "both", "hz": 3150.0, "start_s": 20, "end_s": 25, "level_db": -12}


def with_both(setting_deg: float, best_deg: float, **more: Any) -> LeakByTone:
    """Return a recording in which a band for speed plays, too."""
    plain = recorded(setting_deg, best_deg, **more).model_dump()
    plain["recorded"]["bands"] = (*plain["recorded"]["bands"], BOTH)
    return LeakByTone.model_validate(plain)


@pytest.mark.parametrize("best", [2.3, -2.3])
def test_one_recording_tells_the_least_leak_once_the_leads_are_seen_to_be_right(
    best: float,
) -> None:
    said = judged([with_both(0.0, best)])
    assert value(said, "best_setting") == pytest.approx(least_sum(best), abs=0.02)
    assert said.verdict is Verdict.MOVE
    assert move_of(said).parts[0].amount == pytest.approx(least_sum(best), abs=0.15)
    stands = judged([with_both(least_sum(best), best)])
    assert stands.verdict is Verdict.GOOD


def test_one_recording_with_leads_the_wrong_way_round_tells_nothing() -> None:
    said = judged([with_both(0.0, 2.3, faults=[{"fault": "opposed"}])])
    assert said.verdict is Verdict.READ_AGAIN
    assert "wrong way round" in said.headline


def test_one_recording_is_all_there_can_be_where_nothing_turns() -> None:
    said = judged([recorded(0.0, 4.0)], on_control("none"))
    assert said.verdict is Verdict.LEFT_AS_FOUND


def test_two_settings_upright_are_good() -> None:
    best = least_sum(0.0)
    said = judged([recorded(1.5, 0.0), recorded(best, 0.0)])
    assert said.verdict is Verdict.GOOD
    assert said.method is not None


def test_leads_the_wrong_way_round_are_told_and_allowed_for() -> None:
    said = judged([recorded(0.0, 2.3, 180.0), recorded(1.5, 2.3, 180.0)])
    assert value(said, "best_setting") == pytest.approx(least_sum(2.3), abs=0.1)
    assert any("wrong way round" in str(note) for note in said.notes)


@pytest.mark.parametrize(
    "fault", ["one_channel", "dead_left", "dead_right", "mono", "swapped", "opposed", "clipping"]
)
def test_a_spoilt_recording_is_asked_about(fault: str) -> None:
    said = judged([recorded(0.0, 2.0, faults=[{"fault": fault}])])
    assert said.verdict is Verdict.READ_AGAIN
    assert said.next_reading is not None
    assert said.next_reading.way == "leak by tone"
    assert said.figure("best_setting") is None


def test_exchanged_channels_show_beside_the_record_that_was_played() -> None:
    bands = [{"label": one, "hz": 1000.0, "side": one} for one in ("right", "left")]
    on = deck(bench={"test_record": "own", "record_bands": bands})
    said = judged([recorded(0.0, 2.0)], on)
    assert "Left and right are exchanged" in str(said.headline)
    straight = deck(bench={"test_record": "own", "record_bands": bands[::-1]})
    assert "exchanged" not in str(judged([recorded(0.0, 2.0)], straight).headline)


def of_record(reading: LeakByTone, hz: float) -> LeakByTone:
    """Return a reading taken with a described record whose bands are at this frequency."""
    bands = [{"label": one, "hz": hz, "side": one} for one in ("left", "right")]
    played = {"id": "a", "record": {"name": "Record A", "bands": bands}}
    told = reading.recorded.model_dump() | {"record": played}
    return reading.model_copy(update={"recorded": RecordedLeak.model_validate(told)})


def test_tones_of_another_record_are_asked_about() -> None:
    """The bands lie at 1,000 Hz: 960 is 4 % away, 980 is 2 %, and 400 is none of them at all."""
    for hz, is_asked in ((960.0, True), (400.0, True), (980.0, False), (1000.0, False)):
        said = judged([of_record(recorded(0.0, 2.0), hz)])
        assert ("not those of the test record" in str(said.headline)) is is_asked


def test_a_record_without_both_bands_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path / "left.wav", (LEFT,), Playing())
    with pytest.raises(RecordingProblem, match="The band on the right alone is missing"):
        last_of(RecordedLeak.read(path))
    path = written(
        tmp_path / "mono.wav",
        (LEFT, RIGHT),
        Playing(),
        shaped=lambda sound: np.repeat(sound.mean(axis=1, keepdims=True), 2, axis=1),
    )
    with pytest.raises(RecordingProblem, match="Both channels play the same"):
        last_of(RecordedLeak.read(path))


def test_bands_are_known_by_their_side() -> None:
    told = recorded(0.0, 1.0).recorded
    left = told.band_on(CutOn.LEFT)
    assert left is not None
    assert left.side is CutOn.LEFT
    assert told.band_on(CutOn.BOTH) is None
    assert Numbers().text(told.told()[0]).startswith("2 bands found")


def test_the_practice_deck_leaks_as_its_coils_stand() -> None:
    """Its mechanics are vectors, written apart; the step finds where least leaks."""
    from core.practice.instruments import INSTRUMENTS

    for lean in (-2.0, 1.5):
        world, rng = plain_world(), np.random.default_rng(4)
        world.generator.lean_deg = lean
        world.generator.leak_left, world.generator.leak_right = OWN
        read = []
        for place in (0.0, 1.2):
            world.roll.place = place
            shown = INSTRUMENTS["tilt", "leak by tone"](world, rng).reading
            read.append(shown.model_copy(update={"setting_deg": place}))
        best = value(judged(read), "best_setting")
        assert best - 1.2 == pytest.approx(world.least_leak_deg(), abs=0.15)
