"""The resonance that a record lets be heard, beside what was foretold."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import soundfile

from core.fitting import Assessment, Control, MovePart, Reading, Verdict
from core.language import Numbers
from core.recordings import RecordingProblem
from core.steps.mount import HalfInchChecklist, ResonanceByRecord
from core.steps.mount.readings import RecordedSweep
from tests.core.tones.test_resonance import RATE, swept, truth_of
from tests.examples import cartridge, deck
from tests.kit import assessed, context, figure_of
from tests.sounding import last_of

DONE = HalfInchChecklist(
    amplifier_off=True,
    guard_on=True,
    arm_locked=True,
    screws_snug=True,
    white_lead=True,
    blue_lead=True,
    red_lead=True,
    green_lead=True,
)


def heard(hz: float, sweep: str = "lateral", **more: object) -> ResonanceByRecord:
    told = {"file": "sweep.wav", "hz": hz, "spread_hz": 0.2} | more
    return ResonanceByRecord.model_validate({"sweep": sweep, "recorded": told})


def judged(*things: Reading | MovePart) -> Assessment:
    fitted = cartridge(compliance=12.0)
    return assessed(context("mount", things, on=deck(), fitted=fitted))


def notes(said: Assessment) -> str:
    return " ".join(map(Numbers().text, said.notes))


def test_what_is_heard_stands_beside_what_was_foretold() -> None:
    before = judged(DONE)
    said = judged(DONE, heard(10.4), heard(9.1, "vertical"))
    assert said.verdict is before.verdict is Verdict.GOOD
    assert said.headline == before.headline
    assert figure_of(said, "resonance_lateral").value == 10.4
    assert figure_of(said, "resonance_vertical").value == 9.1
    assert figure_of(said, "resonance") == figure_of(before, "resonance")
    assert "shows a resonance at 10.4\u00a0Hz" in notes(said)


def test_a_resonance_out_of_the_good_range_is_shown_as_such() -> None:
    # 8 to 12 Hz is common practice, no source.
    assert figure_of(judged(DONE, heard(14.0)), "resonance_lateral").is_outside
    assert not figure_of(judged(DONE, heard(9.0)), "resonance_lateral").is_outside


def test_the_last_sweep_counts_and_none_from_before_a_change_of_mass() -> None:
    assert figure_of(judged(DONE, heard(14.0), heard(9.0)), "resonance_lateral").value == 9.0
    change = MovePart(control=Control.CARTRIDGE, amount=2.0, unit="g")
    assert judged(DONE, heard(14.0), change, DONE).figure("resonance_lateral") is None


def test_at_the_end_of_a_sweep_it_may_lie_beyond() -> None:
    assert "may lie beyond" in notes(judged(DONE, heard(4.1, is_at_end=True)))


def test_no_list_is_done_by_a_sweep() -> None:
    assert judged(heard(9.0)).verdict is not Verdict.GOOD


def test_it_lowers_the_stylus_and_is_shut_until_that_is_safe() -> None:
    assert ResonanceByRecord.LOWERS_STYLUS


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Sequence[Path]:
    folder = tmp_path_factory.mktemp("sweep")
    soundfile.write(folder / "sweep.flac", swept(9.0), RATE, subtype="PCM_24")
    soundfile.write(folder / "silence.wav", np.zeros((RATE, 2)), RATE)
    return [folder / "sweep.flac", folder / "silence.wav"]


def test_a_file_is_read(files: Sequence[Path]) -> None:
    told = last_of(RecordedSweep.read(files[0]))
    assert told.hz == pytest.approx(truth_of(9.0), abs=2.5 * told.spread_hz)
    assert len(told.sha256) == 64
    with pytest.raises(RecordingProblem, match="No sweep"):
        last_of(RecordedSweep.read(files[1]))
