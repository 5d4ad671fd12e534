"""What the owner's sheet says of a step, for somebody who knows none of the trade's words."""

from __future__ import annotations

from fnmatch import fnmatchcase
from typing import Final

from core.fitting import Figure, StepState, Verdict
from core.language import Interval, Message, Quantity, Value, message, shown
from core.steps import step_named
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.arm_height import NAME as ARM_HEIGHT
from core.steps.final_downforce import NAME as FINAL
from core.steps.level import NAME as LEVEL
from core.steps.mount import NAME as MOUNT
from core.steps.rough_downforce import NAME as ROUGH
from core.steps.skating import NAME as SKATING
from core.steps.speed import NAME as SPEED
from core.steps.tilt import NAME as TILT
from core.workflow import StepOutcome

_TOLD: Final = (
    (LEVEL, "tilt", "level"),
    (MOUNT, "resonance*", "resonance"),
    (ROUGH, "downforce", "downforce"),
    (FINAL, "downforce", "downforce"),
    (ARM_HEIGHT, "height", "height"),
    (ALIGNMENT, "slide", "slide"),
    (ALIGNMENT, "twist", "twist"),
    (TILT, "tilt", "tilt"),
    (SKATING, "setting", "setting"),
    (SKATING, "break_up", "break up"),
    (SPEED, "speed_error_*", "speed"),
)
"""Step and key of the figures that an owner is told, in this order, and the word for them in the
catalogue. The other figures with a target are for the technician."""

_WITHOUT_WAY: Final = ("level", "resonance", "downforce")
_OF_A_MARK: Final = ("resonance", "downforce", "setting", "notch")
"""What is wanted of these is an amount, not none."""


def title_of(outcome: StepOutcome) -> Message:
    """Return the owner's name of a step."""
    return message("owner.step", step=outcome.step)


def figures_of(outcome: StepOutcome, *, parallel: bool) -> tuple[list[Message], list[Message]]:
    """Return what was measured of a step, as found and as left.

    ``parallel`` asks for the words of a parallel-tracking arm.
    """
    other = {"slide": "along"} if parallel else {}
    if any(pair.either.key == "notch" for pair in outcome.figures):
        other["setting"] = "notch"
    told = [
        (other.get(word, word), pair)
        for step, key, word in _TOLD
        if outcome.step == step
        for pair in outcome.figures
        if fnmatchcase(pair.either.key, key)
    ]
    found = [_said(word, pair.before) for word, pair in told if pair.before]
    left = [_said(word, pair.after) for word, pair in told if pair.after]
    return found, left


def _said(word: str, figure: Figure) -> Message:
    value = round(figure.value, figure.decimals)
    size: Value = Quantity(abs(figure.value), figure.unit, figure.decimals)
    way = "more" if value > 0.0 else "less" if value < 0.0 else "even"
    if figure.half_width is not None:
        size = Interval(abs(figure.value), figure.half_width, figure.unit, figure.decimals)
        if abs(figure.value) <= figure.half_width and word not in _OF_A_MARK:
            # Which way it is off is not known: said is how far at most.
            way = "within"
            most = abs(figure.value) + figure.half_width
            size = Quantity(most, figure.unit, figure.decimals)
    if word == "speed":
        return message("owner.speed", way=way, size=size, speed=figure.label.values["speed"])
    plain = word in _WITHOUT_WAY and not (word == "level" and way == "within")
    stands = word if plain else f"{word}, {way}"
    return message("owner.stands", stands=stands, size=size)


def done_in(outcome: StepOutcome) -> Message:
    """Say what was done in a step."""
    if outcome.state is StepState.KEPT and outcome.reason:
        return message("owner.kept", why=shown(outcome.reason))
    if outcome.state is StepState.KEPT:
        return message("owner.work", how="kept")
    if outcome.state is StepState.CHECK_AGAIN:
        return message("owner.work", how="again")
    if outcome.state is not StepState.DONE:
        return message("owner.work", how="open")
    if outcome.verdict is Verdict.NOTHING_TO_SET:
        return message("owner.why", why=shown(outcome.reason or outcome.headline))
    return _left(outcome) if outcome.was_left else _worked(outcome)


def unread_in(outcome: StepOutcome) -> Message:
    """Say that there is no figure: nothing was measured, or where a mark stood was not noted."""
    stated = step_named(outcome.step).REPORT.is_found_at_end
    return message("owner.not_noted") if stated else message("owner.not_measured")


def unfound_in(outcome: StepOutcome) -> Message | None:
    """Say why no figure stands as found: nothing was measured, or not enough to judge.

    None where there was nothing to find.
    """
    if outcome.step == MOUNT:
        return None
    return message("owner.not_enough") if outcome.was_read else unread_in(outcome)


def _worked(outcome: StepOutcome) -> Message:
    """Say what was done in a step that passed; of downforce and speed also what was set."""
    how = _how(outcome)
    if how == "set" and outcome.step == SKATING:
        by_bands = any(pair.either.key == "break_up" for pair in outcome.figures)
        return message("owner.work", how="set_by_bands" if by_bands else "set_to_match")
    if how != "measured":
        return message("owner.work", how=how)
    if outcome.step in (ROUGH, FINAL):
        pair = next((one for one in outcome.figures if one.either.key == "downforce"), None)
        before, after = (pair.before, pair.after) if pair else (None, None)
        if before is not None and after is not None:
            work = "first" if outcome.step == ROUGH else "final" if outcome.moves else "measured"
            sizes = {"before": _bare(before), "after": _bare(after)}
            return message("owner.downforce", work=work, **sizes)
    return message("owner.work", how="speed" if outcome.step == SPEED else how)


def _bare(figure: Figure) -> Quantity:
    return Quantity(abs(figure.value), figure.unit, figure.decimals)


def _left(outcome: StepOutcome) -> Message:
    if not outcome.was_set:
        return message("owner.left", why=shown(outcome.reason or outcome.headline))
    if outcome.headline.key.startswith("control."):  # it was tried, and nothing came of it
        return message("owner.why", why=outcome.headline)
    return message("owner.work", how="set_as_close")


def _how(outcome: StepOutcome) -> str:
    if outcome.step == MOUNT:
        return "mounted"
    if outcome.step == FINAL and not outcome.moves and _was_found_elsewhere(outcome):
        return "measured"
    known_before = any(pair.before for pair in outcome.figures)
    if not outcome.was_set or (known_before and not outcome.moves):
        return "checked"
    stated = step_named(outcome.step).REPORT.is_found_at_end  # a mark, which nothing measures
    return "measured" if outcome.moves and not stated else "set"


def _was_found_elsewhere(outcome: StepOutcome) -> bool:
    """Whether a figure was found elsewhere than it is now: an earlier step has set it."""
    return any(
        pair.before is not None
        and pair.after is not None
        and pair.after.tolerance is not None
        and abs(pair.before.value - pair.after.value) > pair.after.tolerance
        for pair in outcome.figures
    )


def verdict_on(outcome: StepOutcome) -> Message | None:
    """Say how a step stands; None where nothing was read, nothing can be set or all is open again.

    What was kept by choice is not said to be still to be done.
    """
    verdict = outcome.shown_verdict.value
    if outcome.verdict in (Verdict.NO_READING, Verdict.NOTHING_TO_SET):
        return None
    if outcome.state is StepState.CHECK_AGAIN:
        return None
    if outcome.state is StepState.KEPT and not outcome.verdict.passes:
        verdict = f"kept: {verdict}"
    return message("owner.verdict", verdict=verdict)


def is_coarse(outcome: StepOutcome) -> bool:
    """Whether a figure is known less well than its step asks for."""
    return any(pair.after is not None and pair.after.is_coarse for pair in outcome.figures)
