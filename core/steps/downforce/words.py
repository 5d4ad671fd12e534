"""Sentences and figures that both downforce steps give."""

from __future__ import annotations

from typing import Final

from core.estimation import Estimate
from core.fitting import Context, Figure
from core.language import EXPECTED
from core.records import Balance
from core.steps.downforce.move import Proposal
from core.steps.downforce.weighings import DownforceState, ScaleWorth

_PAN_WORTH_A_WORD_MM: Final = 2.0
_WORDS: Final = ("no times", "once", "twice", "three times", "four times", "five times")


def times(count: int) -> str:
    """Return a small count as a word: once, twice, three times."""
    return _WORDS[count] if 0 <= count < len(_WORDS) else f"{count} times"


def stop_words(value: str, *, certain: bool) -> str:
    """Return the order to keep the stylus up."""
    if certain:
        return f"Stylus up! {value} is over 1½ times the maximum."
    return f"Stylus up! {value} may be over 1½ times the maximum."


def foretold_note(
    context: Context, predicted: Estimate | None, tolerance_gf: float
) -> tuple[str, ...]:
    """Return what the next weighing should show, as a note."""
    if predicted is None:
        return ()
    value = context.numbers.expected(
        max(predicted.value, 0.0), predicted.half_width(), "gf", tolerance=tolerance_gf
    )
    return (f"{EXPECTED}: {value}.",)


def common_notes(context: Context, worth: ScaleWorth, status: DownforceState) -> tuple[str, ...]:
    """Return what should be known of the scale, the pan and the arm whatever the verdict."""
    arm, cartridge, numbers = context.deck.arm, context.cartridge, context.numbers
    notes = list(worth.notes)
    heights = [w.pan_height_mm for w in status.now if w.pan_height_mm is not None]
    if heights and arm.balance is Balance.STATIC:
        height = heights[-1]
        if abs(height) > _PAN_WORTH_A_WORD_MM:
            place = "above" if height > 0 else "below"
            heavier = "more" if height > 0 else "less"
            notes.append(
                f"The pan stands {numbers.unit(abs(height), 'mm', 1)} {place} the record. An arm "
                f"whose weight hangs below its pivot shows {heavier} there than it bears on a "
                "record; nothing is corrected. Bring the pan to record height if you can."
            )
    mass = cartridge.moving_g
    if not arm.lightest_cartridge_g <= mass <= arm.heaviest_cartridge_g:
        light = mass < arm.lightest_cartridge_g
        cure = "a spacer at the head" if light else "a heavier counterweight"
        notes.append(
            f"Cartridge and hardware weigh {numbers.unit(mass, 'g', 1)}; the arm is made for "
            f"{numbers.unit(arm.lightest_cartridge_g, 'g', 1)} to "
            f"{numbers.unit(arm.heaviest_cartridge_g, 'g', 1)}. If the counterweight comes to the "
            f"end of its travel, {cure} is needed."
        )
    return tuple(notes)


def downforce_figures(
    worth: ScaleWorth,
    now: Estimate | None,
    target_gf: float,
    tolerance_gf: float,
    predicted: Estimate | None,
    proposal: Proposal | None,
) -> tuple[Figure, ...]:
    """Return the figures of a downforce step.

    ``downforce`` only when a weighing stands: what is merely foretold has a key of its own, so
    that nothing takes it for weighed.
    """
    figures = []
    if now is not None:
        figures.append(
            Figure(
                "downforce",
                "Downforce",
                now.value,
                "gf",
                half_width=now.half_width(),
                target=target_gf,
                tolerance=tolerance_gf,
                note="" if worth.correction else "The scale is not checked with a weight.",
            )
        )
    if predicted is not None:
        figures.append(
            Figure(
                "predicted_downforce",
                "Downforce expected",
                predicted.value,
                "gf",
                half_width=predicted.half_width(),
                tolerance=tolerance_gf,
            )
        )
    if proposal and proposal.trim.gain and proposal.trim.gain_learned:
        gain = proposal.trim.gain
        figures.append(
            Figure("gain", proposal.gain_label, gain.value, "", 3, half_width=gain.half_width())
        )
    return tuple(figures)
