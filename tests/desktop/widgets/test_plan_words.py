"""Moves of a plan are orders a person can follow: what, how far, which way."""

from __future__ import annotations

import pytest

from core.fitting import Control, Gain, MovePart, Start
from core.language import Numbers
from core.swap.words import order, orders
from desktop.widgets.plan_words import gain_words

POINT, COMMA = Numbers(), Numbers(",")


def part(
    control: Control, amount: float, unit: str = "mm", *, also_mm: float | None = None
) -> MovePart:
    return MovePart(control=control, amount=amount, unit=unit, equivalent_mm=also_mm)


@pytest.mark.parametrize(
    ("moved", "words"),
    [
        (part(Control.PILLAR, 2.0), "Raise the pillar by 2.0 mm"),
        (part(Control.PILLAR, -0.5), "Lower the pillar by 0.5 mm"),
        (
            part(Control.PILLAR, 1.375, "turns", also_mm=1.03),
            "Raise the collar by 1 ⅜ turns (1.0 mm)",
        ),
        (part(Control.SLIDE, -0.5), "Slide the cartridge by 0.5 mm, toward the pivot"),
        (part(Control.SLIDE, 0.05), "Slide the cartridge by 0.05 mm, away from the pivot"),
        (part(Control.TWIST, 0.8, "°"), "Turn the cartridge by 0.8°, in, toward the spindle"),
        (
            part(Control.COUNTERWEIGHT, -1.0, "turns"),
            "Turn the counterweight by 1 turn, away from the pivot",
        ),
        (part(Control.COUNTERWEIGHT, 3.0), "Move the counterweight by 3.0 mm, toward the pivot"),
        (part(Control.COUNTERWEIGHT, -0.25, "gf"), "Turn the downforce down by 0.25 gf"),
        (part(Control.BASE_SHIM, -1.5), "Take 1.5 mm of shims from under the arm base"),
        (part(Control.HEAD_SHIM, 1.0), "Put 1.0 mm of shims between head and cartridge"),
        (part(Control.TILT_SHIM, -0.2), "Add 0.2 mm of shim at the right screw"),
        (part(Control.TILT, 0.3, "°"), "Turn the head 0.3°: left side rises"),
        (part(Control.SKATING, -0.25, "gf"), "Set the skating compensation 0.25 gf less"),
        (part(Control.ARM_BASE, 1.0), "Move the arm base by 1.0 mm, away from the spindle"),
    ],
)
def test_a_part_of_a_move_is_an_order_with_its_way_in_words(moved: MovePart, words: str) -> None:
    assert POINT.text(order(moved)).replace("\u00a0", " ") == words


def test_a_control_without_an_order_is_said_as_the_record_says_it() -> None:
    assert POINT.text(order(part(Control.SPEED, 0.25, "turns"))).startswith("Speed trim")


def test_amounts_have_the_country_s_decimal_sign_and_never_a_minus() -> None:
    words = COMMA.text(order(part(Control.SLIDE, -0.5)))
    assert "0,5" in words
    assert "−" not in words


def test_several_moves_are_one_sentence_and_none_is_said_too() -> None:
    starts = tuple(
        Start(step="alignment", key=key, part=moved)
        for key, moved in (
            ("slide", part(Control.SLIDE, 1.0)),
            ("twist", part(Control.TWIST, -0.5, "°")),
        )
    )
    said = orders(starts)
    assert said is not None
    words = POINT.text(said).replace("\u00a0", " ")
    assert words == (
        "Slide the cartridge by 1.0 mm, away from the pivot; "
        "turn the cartridge by 0.5°, out, away from the spindle, from where the old one stood."
    )
    still = (Start(step="tilt", key="tilt"),)
    assert orders(still) is None


def test_a_learned_gain_says_its_spread_its_samples_and_what_was_stated() -> None:
    gain = Gain(
        step="rough_downforce",
        control=Control.COUNTERWEIGHT,
        value=0.431,
        half_width=0.02,
        unit="gf/turn",
        samples=4,
        stated=0.435,
    )
    assert gain_words(gain, COMMA) == (
        "Counterweight",
        "0,431\u00a0±\u00a00,020\u00a0gf/\u2060turn",
        "4 moves",
        "0,435 gf/turn",
    )
    once = gain.model_copy(update={"samples": 1, "stated": None, "where": "45"})
    assert gain_words(once, POINT)[0] == "Counterweight (45)"
    assert gain_words(once, POINT)[2:] == ("1 move", "not stated")
