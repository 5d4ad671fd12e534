"""A control that does not answer: what to look at first, and how a step says so."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from core.fitting import Assessment, Control, NextReading, Question, Trial, Verdict
from core.language import Message, message

_QUESTIONS: Final[dict[str, tuple[str, ...]]] = {
    Control.FOOT: ("foot_itself", "foot_locked", "foot_stands", "level_reads"),
    Control.FOOT_SHIM: ("shim_itself", "foot_stands", "level_reads"),
    Control.COUNTERWEIGHT: ("weight_itself", "weight_locked", "arm_hangs", "scale_holds"),
    "dial": ("dial_itself", "arm_hangs", "scale_holds"),
    Control.PILLAR: ("pillar_itself", "pillar_locked", "height_reads"),
    Control.BASE_SHIM: ("shim_itself", "base_tight", "height_reads"),
    Control.HEAD_SHIM: ("shim_itself", "screws_snug", "height_reads"),
    Control.SLIDE: ("screws_loose", "cartridge_itself", "wires", "protractor_reads"),
    Control.TWIST: ("screws_loose", "cartridge_itself", "wires", "protractor_reads"),
    Control.ARM_BASE: ("base_itself", "base_locked", "protractor_reads"),
    Control.TILT: ("head_itself", "head_locked", "tilt_reads"),
    Control.TILT_SHIM: ("shim_itself", "screws_snug", "tilt_reads"),
    Control.SKATING: ("skating_itself", "skating_reads"),
    Control.SPEED: ("trim_itself", "trim_enough", "speed_reads"),
}
_READS: Final = 1
"""The last question is about the reading, whichever way the control went."""

CHECKED_WAY: Final = "control checked"


def questions_of(
    control: Control, where: str = "", *, dial: bool = False, against: bool = False
) -> tuple[Question, ...]:
    """Return what to look at before this control is moved again.

    ``against``: the last move did show, but the other way. ``dial``: downforce is made by a dial.
    """
    own = _QUESTIONS["dial" if dial else control]
    if against:
        own = ("which_way", *own[-_READS:])
    return tuple(Question(control, message("control.question", what=what), where) for what in own)


def asked_first(
    said: Assessment,
    control: Control,
    where: str = "",
    *,
    dial: bool = False,
    against: bool = False,
) -> Assessment:
    """Return an answer that orders nothing and asks about the control; a stop stays a stop."""
    headline = message("control.asked_first", why="against" if against else "nothing")
    if said.verdict is Verdict.STOP:
        said = replace(said, notes=(headline, *said.notes))
    else:
        said = replace(said, verdict=Verdict.READ_AGAIN, headline=headline)
    values = {"control": control, "where": where}
    return replace(
        said,
        next_move=None,
        next_reading=NextReading(way=CHECKED_WAY, values=values, count=None, why=headline),
        questions=questions_of(control, where, dial=dial, against=against),
    )


def does_not_answer(control: Control, *, dial: bool = False) -> tuple[Message, Message]:
    """Return headline and note for a control that showed nothing even after the questions."""
    name = "dial" if dial else control.value
    headline = message("control.does_not_answer", control=name)
    return headline, message("control.note.does_not_answer")


def is_checked(trial: Trial, *controls: Control, where: str | None = None) -> bool:
    """Whether a trial answers the questions about one of these controls, at a place if named."""
    checked = trial.checked
    if checked is None or checked.control not in controls:
        return False
    return where is None or checked.where == where
