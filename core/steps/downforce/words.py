"""Messages and figures common to both downforce steps."""

from __future__ import annotations

from typing import Final

from core.estimation import Estimate
from core.fitting import Act, Context, Figure, Guard
from core.language import Expectation, Message, Quantity, message
from core.records import Balance
from core.steps.downforce.move import Proposal
from core.steps.downforce.weighings import DownforceState, ScaleWorth

_PAN_WORTH_A_WORD_MM: Final = 2.0

OFF_RECORDS: Final = Guard("off_records", Act.LOWER_STYLUS)
"""While it is to be weighed: the scale is the one thing it is lowered on."""
MIND_THE_MAGNETS: Final = Guard("magnets", Act.READ)


def stop_message(now_gf: float, stop_gf: float) -> Message:
    """Return the order to keep the stylus up."""
    value = Quantity(now_gf, "gf")
    if now_gf > stop_gf:
        return message("downforce.stop", value=value)
    return message("downforce.stop_perhaps", value=value)


def foretold_note(predicted: Estimate | None, tolerance_gf: float) -> tuple[Message, ...]:
    """Return a note with the expected next weighing."""
    if predicted is None:
        return ()
    value = Expectation(
        max(predicted.value, 0.0), predicted.half_width(), "gf", tolerance=tolerance_gf
    )
    return (message("downforce.note.foretold", value=value),)


def common_notes(
    context: Context, worth: ScaleWorth, status: DownforceState
) -> tuple[Message, ...]:
    """Return notes about scale, pan and arm that apply to every verdict."""
    arm, mass = context.deck.arm, context.cartridge.moving_g
    notes = list(worth.notes)
    heights = [w.pan_height_mm for w in status.now if w.pan_height_mm is not None]
    if heights and arm.balance is Balance.STATIC and abs(heights[-1]) > _PAN_WORTH_A_WORD_MM:
        side = "above" if heights[-1] > 0 else "below"
        height = Quantity(abs(heights[-1]), "mm", 1)
        notes.append(message("downforce.note.pan", side=side, height=height))
    if not arm.lightest_cartridge_g <= mass <= arm.heaviest_cartridge_g:
        notes.append(
            message(
                "downforce.note.mass",
                mass="light" if mass < arm.lightest_cartridge_g else "heavy",
                weight=Quantity(mass, "g", 1),
                least=Quantity(arm.lightest_cartridge_g, "g", 1),
                most=Quantity(arm.heaviest_cartridge_g, "g", 1),
            )
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

    ``downforce`` only with a valid weighing: a prediction has a key of its own, so that it is not
    taken for a weighing.
    """
    figures = []
    if now is not None:
        figures.append(
            Figure(
                "downforce",
                message("downforce.figure.downforce"),
                now.value,
                "gf",
                half_width=now.half_width(),
                target=target_gf,
                tolerance=tolerance_gf,
                note=_surety(worth),
            )
        )
    if predicted is not None:
        figures.append(
            Figure(
                "predicted_downforce",
                message("downforce.figure.expected"),
                predicted.value,
                "gf",
                half_width=predicted.half_width(),
                tolerance=tolerance_gf,
            )
        )
    if proposal and proposal.trim.gain and proposal.trim.gain_learned and not proposal.asks:
        gain = proposal.trim.gain
        kind = "dial" if proposal.dial else "counterweight"
        if proposal.parallel and not proposal.dial:
            kind = "parallel"
        more = message("downforce.gain.more", control=kind)
        ways = more, message("downforce.gain.less", control=kind)
        half, label = gain.half_width(), proposal.gain_label
        figures.append(Figure("gain", label, gain.value, "", 3, half, ways=ways))
    return tuple(figures)


def _surety(worth: ScaleWorth) -> Message | None:
    if worth.floated_by:
        return message("downforce.figure.by_dial")
    if worth.by_weight:
        return None
    checked = "empty_pan" if worth.by_empty_pan else "unchecked"
    return message("downforce.figure.unchecked", read=checked)
