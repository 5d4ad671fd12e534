"""What lies outside its own target is said so, and no advice contradicts another."""

from __future__ import annotations

import pytest

from core.fitting import QualifiedPass, Verdict
from core.practice.invented_decks import starter_cartridges
from core.records import Cartridge, Generator
from tests.core.steps.mount.test_mount import full, judged, value
from tests.examples import cartridge, deck

SUPPLE = {"compliance": 45.0}
STIFF = {"compliance": 5.0, "mass_g": 15.0}


def coil(**more: float) -> Cartridge:
    return cartridge(generator=Generator.MOVING_COIL.value, **more)


def test_mounted_at_a_resonance_outside_8_to_12_hz_is_not_plainly_good() -> None:
    on = deck(arm={"effective_mass_g": 20.0})
    answer = judged(full(), on=on, with_=cartridge(**SUPPLE))
    # 1000 / (2 pi sqrt(27 g x 45 um/mN)) is 4.57 Hz (derived)
    assert value(answer, "resonance") == pytest.approx(4.566, abs=0.01)
    assert answer.verdict is Verdict.GOOD
    assert answer.shown_verdict is QualifiedPass.GOOD
    assert answer.shown_verdict.label == "Acceptable, outside target"
    assert answer.headline == "Mounted, but it resonates at 4.6\u00a0Hz: 8 to 12 Hz is better."
    assert [figure.key for figure in answer.outside] == ["resonance"]


def test_mounted_inside_the_band_is_plainly_good() -> None:
    answer = judged(full())
    assert answer.shown_verdict is Verdict.GOOD
    assert answer.headline.startswith("Mounted. ")


def test_a_list_not_ticked_is_outside_nothing() -> None:
    on = deck(arm={"effective_mass_g": 20.0})
    answer = judged(full(white_lead=False), on=on, with_=cartridge(**SUPPLE))
    assert answer.shown_verdict is Verdict.READ_AGAIN


def test_the_mass_advised_is_no_more_than_the_counterweight_balances() -> None:
    # 16 g at the head; 10 Hz takes 1e6 / ((2 pi 10)^2 5) = 50.7 g moving, 8 + 16 are there
    on = deck(arm={"effective_mass_g": 8.0, "heaviest_cartridge_g": 26.0})
    answer = judged(full(), on=on, with_=cartridge(**STIFF))
    assert value(answer, "mass_to_add") == pytest.approx(10.0)
    note = next(note for note in answer.notes if "10 Hz needs" in note)
    assert "26.7\u00a0g more" in note
    assert "balances only 10.0\u00a0g more" in note
    # Handbook form 159 / sqrt(M C), memory: 34 g on 5 um/mN, and the root of 170 is 13.04.
    assert "12.2\u00a0Hz" in note
    figure = answer.figure("mass_to_add")
    assert figure is not None
    assert figure.label == "Mass to add that still balances"


def test_an_arm_at_its_limit_is_told_that_nothing_more_balances() -> None:
    on = deck(arm={"effective_mass_g": 8.0, "heaviest_cartridge_g": 16.0})
    answer = judged(full(), on=on, with_=cartridge(**STIFF))
    assert value(answer, "mass_to_add") == 0.0
    assert any("the counterweight can't balance more" in note for note in answer.notes)


def test_no_more_is_to_come_off_than_is_there() -> None:
    # 1.0 g of hardware, no headshell that comes off
    on = deck(arm={"effective_mass_g": 20.0, "lightest_cartridge_g": 2.0})
    answer = judged(full(), on=on, with_=cartridge(**SUPPLE))
    assert value(answer, "mass_to_add") == pytest.approx(-1.0)
    assert any("no more than 1.0\u00a0g off" in note for note in answer.notes)


# --- moving coils -----------------------------------------------------------------------------


def test_a_moving_coil_is_not_preset_to_the_load_of_a_moving_magnet() -> None:
    assert coil(coil_ohm=100.0).load_ohm is None
    assert coil(load_ohm=400.0).load_ohm == 400.0


def test_a_load_that_was_kept_in_kilohms_keeps_its_meaning() -> None:
    assert coil(load_kohm=0.1).load_ohm == pytest.approx(100.0)
    stored = [one for one in starter_cartridges() if one.generator is Generator.MOVING_COIL]
    assert stored
    assert {one.load_ohm for one in stored} == {100.0}  # documents of the first version


@pytest.mark.parametrize(("has", "inside"), [(100.0, True), (140.0, True), (47000.0, False)])
def test_the_load_of_a_moving_coil_is_compared_in_ohms(has: float, inside: bool) -> None:
    on = deck(amplifier={"coil_input_ohm": has})
    answer = judged(full(), on=on, with_=coil(load_ohm=100.0))
    figure = answer.figure("coil_load")
    assert figure is not None
    assert (figure.value, figure.target, figure.unit) == (has, 100.0, "Ω")
    assert (answer.shown_verdict is Verdict.GOOD) is inside
    assert any("The maker asks for 100\u00a0Ω" in note for note in answer.notes) is not inside


def test_ten_times_the_coils_stands_in_for_a_load_nobody_states() -> None:
    low = judged(full(), on=deck(amplifier={"coil_input_ohm": 470.0}), with_=coil(coil_ohm=100.0))
    assert any("1000\u00a0Ω or more" in note and "less" in note for note in low.notes)
    unknown = judged(full(), with_=coil(load_ohm=100.0))
    assert any("The deck's page does not say" in note for note in unknown.notes)


def test_gain_is_compared_with_what_the_output_wants() -> None:
    # 0.3 mV to 500 mV: 20 lg 1667 = 64.4 dB
    weak = coil(output_mv=0.3)
    low = judged(full(), on=deck(amplifier={"coil_gain_db": 40.0}), with_=weak)
    assert low.shown_verdict is QualifiedPass.GOOD
    assert any("40\u00a0dB of gain is low" in n and "64\u00a0dB" in n for n in low.notes)
    right = judged(full(), on=deck(amplifier={"coil_gain_db": 62.0}), with_=weak)
    assert right.shown_verdict is Verdict.GOOD
    unsaid = judged(full(), with_=weak)
    assert any("needs about 64\u00a0dB of gain" in note for note in unsaid.notes)


def test_old_documents_without_the_new_fields_still_read() -> None:
    old = deck(amplifier={"input_pf": None, "input_kohm": 47.0}).amplifier
    assert old.coil_input_ohm is None
    assert old.coil_gain_db is None
