"""A control that does not respond: what to check first, and how a step asks."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Protocol

from core.fitting import (
    CHECKED_WAY,
    FLOATED_ANEW,
    Assessment,
    Context,
    Control,
    MovePart,
    NextReading,
    Question,
    Trial,
    Verdict,
)
from core.language import Message, Quantity, Turns, message
from core.steps.shared.movable import directions_of
from core.steps.shared.sentences import sentences

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
_TO_FLOAT: Final = ("arm_lifted", "dials_at_zero", "weight_back")
_DIAL_TO_FLOAT: Final = ("arm_lifted", "dials_at_zero", "floats_again")

_UNEXPLAINED: Final = ("amount_as_entered", "nothing_else", "read_twice")

_NOTHING: Final = 0.005
"""Less than this, in turns, millimetres or gf, is no move: it is written with two decimals."""

_READS: Final = 1
"""The last question is about the reading, whichever way the control went."""


def questions_of(
    control: Control,
    where: str = "",
    *,
    dial: bool = False,
    against: bool = False,
    beyond: bool = False,
    at_end: bool = False,
) -> tuple[Question, ...]:
    """Return what to check before this control is moved again.

    ``against``: the last move did show, but the other way. ``beyond``: the reading is farther off
    than the move explains. ``dial``: downforce is made by a dial. ``at_end``: the instrument is at
    its end, so it may have gone either way, and nobody can tick that it is clear of it.
    """
    own = _QUESTIONS["dial" if dial else control]
    if at_end:
        own = ("way_as_entered", *own[:-_READS], "level_lies")
    if beyond:
        own = ("way_as_entered", *_UNEXPLAINED, *own[-_READS:])
        own = own if against else own[1:]
    elif against:
        own = ("way_as_entered", *own[-_READS:])
    return tuple(Question(control, message("control.question", what=what), where) for what in own)


def asked_first(
    said: Assessment,
    context: Context,
    control: Control,
    where: str = "",
    *,
    dial: bool = False,
    against: bool = False,
    beyond: bool = False,
    did: str = "nothing",
) -> Assessment:
    """Return an answer without an order that asks about the control; a stop stays a stop.

    ``did`` says what a move did that went the right way: ``nothing``, or only ``part`` of what it
    should; or that it was entered ``away`` from the target. If a reading went against a move, or it
    was entered so, the question names that move's entry. ``beyond``: the reading is farther off
    than the move explains. ``did`` is ``end`` where the instrument is at its end, which tells
    neither that nothing moved nor how far.
    """
    away = did == "away"
    why = did if away else "beyond" if beyond else "against" if against else did
    headline, against = message("control.asked_first", why=why), against or away
    if said.verdict is Verdict.STOP:
        said = replace(said, notes=(headline, *said.notes))
    else:
        said = replace(said, verdict=Verdict.READ_AGAIN, headline=headline)
    questions = questions_of(
        control, where, dial=dial, against=against, beyond=beyond, at_end=did == "end"
    )
    moved = _moved_last(context, control, where) if against else None
    if moved is not None:
        parts = _parts_of(moved, control, where)
        asked = message("control.question", what="which_way")
        first = Question(control, asked, where, moved.entry_id, parts)
        questions = (first, *questions[1:])
    values = {"control": control, "where": where}
    return replace(
        said,
        next_move=None,
        next_reading=NextReading(way=CHECKED_WAY, values=values, count=None, why=headline),
        questions=questions,
        asked_because=(
            message("control.asked_because", why=why),
            *moved_in_all(context, control),
        ),
    )


def moved_in_all(context: Context, control: Control) -> tuple[Message, ...]:
    """Say how far a counterweight or its dial was moved in all, so that it can be set back.

    Nothing is said where its entries don't tell: it was floated in between, or moved in two units.
    """
    trials = [trial for trials in context.log.values() for trial in trials]
    parts = [part for trial in trials for part in _parts_of(trial, control, "")]
    if control is not Control.COUNTERWEIGHT or len({part.unit for part in parts}) != 1:
        return ()
    if any(
        is_checked(trial, control, where=FLOATED_ANEW)
        or (trial.reading is not None and trial.reading.SETS)
        for trial in trials
    ):
        return ()
    unit, moved = parts[0].unit, sum(part.amount for part in parts)
    size = Turns(abs(moved)) if unit == "turns" else Quantity(abs(moved), unit, form="short")
    ways = directions_of(control, unit, parallel=not context.deck.arm.is_pivoted)
    name = "dial" if unit == "gf" else control.value
    if abs(moved) < _NOTHING:
        return (message("control.moved_to_and_fro", control=name),)
    way = ways[0 if moved > 0.0 else 1]
    return (message("control.moved_in_all", control=name, size=size, way=way),)


class MoveFound(Protocol):
    """What was found of a control by its last move."""

    @property
    def against(self) -> bool:
        """Whether a reading went against the move."""

    @property
    def beyond(self) -> bool:
        """Whether a reading is farther off than the move explains."""

    @property
    def did(self) -> str:
        """What a move did that went the right way: ``nothing``, or ``part`` of what it should."""


def asked_of(
    said: Assessment,
    context: Context,
    control: Control,
    found: MoveFound,
    where: str = "",
    *,
    at_end: bool = False,
) -> Assessment:
    """Return an answer without an order that asks about the control by what was found of it."""
    return asked_first(
        said,
        context,
        control,
        where,
        against=found.against,
        beyond=found.beyond,
        did="end" if at_end else found.did,
    )


def floated_anew(said: Assessment, *, dial: bool = False, why: str = "above") -> Assessment:
    """Return an answer without an order that asks for the arm to be floated again.

    ``why``: downforce is ``above`` the maximum and no sure order lowers it, it is ``unsure`` what
    brings it nearer, or moves are ``unseen`` that may still act; a stop stays a stop.
    """
    name = "dial" if dial else "counterweight"
    note = message("control.note.float_anew")
    if why == "above":
        headline = message("control.float_anew", control=name)
    elif why == "unseen":
        headline = message("control.float_anew_unseen", control=name)
        note = message("control.note.float_anew_unseen")
    else:
        headline = message("control.float_anew_unsure", control=name)
    if said.verdict is Verdict.STOP:
        said = replace(said, notes=(headline, *said.notes))
    else:
        said = replace(said, verdict=Verdict.READ_AGAIN, headline=headline)
    control = Control.COUNTERWEIGHT
    values = {"control": control, "where": FLOATED_ANEW}
    return replace(
        said,
        next_move=None,
        next_reading=NextReading(way=CHECKED_WAY, values=values, count=None, why=headline),
        questions=tuple(
            Question(control, message("control.question", what=what), FLOATED_ANEW)
            for what in (_DIAL_TO_FLOAT if dial else _TO_FLOAT)
        ),
        notes=(*said.notes, note),
    )


def once_more(said: Assessment, context: Context) -> Assessment:
    """Return an answer that says why a control that did nothing is to be moved again.

    That is the order that comes after its questions were answered: the last of such moves.
    """
    move, last = said.next_move, context.trials[-1].checked if context.trials else None
    if move is None or last is None or last.as_read or last.where == FLOATED_ANEW:
        return said
    moved = _moved_last(context, last.control, last.where)
    again = sum(part.amount for part in move.parts if part.control is last.control)
    if moved is None or again * _amount_of(moved, last.control, last.where) <= 0.0:
        return said  # the move before went the other way, and this one is to undo it
    why = message("control.note.once_more")
    reason = why if move.reason is None else sentences(why, move.reason)
    return replace(said, next_move=replace(move, reason=reason))


def _moved_last(context: Context, control: Control, where: str) -> Trial | None:
    """Return the move that the last reading contradicts, None if no entry tells it.

    Of several moves between two readings it is the last one in their common direction. A control
    that two steps share may have been moved in the other step.
    """
    moves: list[Trial] = []
    for trial in reversed(context.trials):
        if _parts_of(trial, control, where):
            moves.append(trial)
        elif moves and trial.reading is not None:
            break
    if not moves:
        others = (trial for trials in context.log.values() for trial in trials)
        timed = [trial for trial in others if trial.at and _parts_of(trial, control, where)]
        moves = sorted(timed, key=lambda trial: trial.at.timestamp() if trial.at else 0.0)[-1:]
    moves = [trial for trial in moves if trial.entry_id]
    together = sum(_amount_of(trial, control, where) for trial in moves)
    along = [trial for trial in moves if _amount_of(trial, control, where) * together > 0.0]
    return next(iter((*along, *moves)), None)


def _parts_of(trial: Trial, control: Control, where: str) -> tuple[MovePart, ...]:
    return tuple(
        part for part in trial.moves if part.control is control and where in ("", part.where)
    )


def _amount_of(trial: Trial, control: Control, where: str) -> float:
    return sum(part.amount for part in _parts_of(trial, control, where))


def does_not_answer(control: Control, *, dial: bool = False) -> tuple[Message, Message]:
    """Return headline and note for a control without effect even after the questions."""
    name = "dial" if dial else control.value
    headline = message("control.does_not_answer", control=name)
    return headline, message("control.note.does_not_answer")


def is_checked(trial: Trial, *controls: Control, where: str | None = None) -> bool:
    """Whether a trial answers the questions about one of these controls, at a place if given."""
    checked = trial.checked
    if checked is None or checked.as_read or checked.control not in controls:
        return False
    return where is None or checked.where == where


def is_right_as_read(trial: Trial) -> bool:
    """Whether a trial says that a reading which contradicts its move is right as typed."""
    return trial.checked is not None and bool(trial.checked.as_read)
