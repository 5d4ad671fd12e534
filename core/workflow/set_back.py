"""The skating compensation, set to 0 for weighing: what it is to be set back to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from core.fitting import CHECKED_WAY, Journey, MoveMade, ReadingTaken, SkatingAtZero, StepState
from core.language import Message, message
from core.records import Unit
from core.steps.final_downforce import NAME as FINAL
from core.steps.skating import NAME as SKATING
from core.steps.skating import Setting
from core.workflow.descriptions import setting_words


@dataclass(frozen=True, slots=True)
class SetBack:
    """The compensation is at 0 and is still to be set again.

    Parameters
    ----------
    was
        What it was set to before; None if nobody said.
    anew
        Whether it is to be set to match another downforce, not back to what it was.
    units
        In which unit it is typed, by the field's name; empty for a notch.
    said, for_owner
        What is still to be done, for the bench and for an owner.
    """

    was: float | None
    anew: bool
    units: Mapping[str, Unit]
    said: Message
    for_owner: Message


def set_back_of(journey: Journey) -> SetBack | None:
    """Return what the skating compensation is to be set back to after weighing; None if it is.

    Every way of weighing begins with it at 0. It is set back once somebody says so, or enters or
    sets it in its own step. A finished fitting is asked about only if it was finished like that.
    """
    known, open_again = _known(journey)
    finished = journey.fitting.is_finished
    if finished and not journey.fitting.was_finished_at_zero:
        return None
    if not open_again or not journey.status(SKATING).applicability.adjusts:
        return None
    anew = _is_left_to_follow(journey)
    if known == 0.0 and not anew:
        return None
    how = "anew" if anew else "back"
    unit = Setting.units_on(journey.deck).get("setting")
    units = {} if unit is None else {"was": unit}
    if not known:
        return SetBack(
            None,
            anew,
            units,
            said=message("workflow.set_back.to_do", how=how),
            for_owner=message("workflow.set_back.for_owner", how=how),
        )
    setting = setting_words(known, journey.deck)
    return SetBack(
        known,
        anew,
        units,
        said=message("workflow.set_back.to_do_from", how=how, setting=setting),
        for_owner=message("workflow.set_back.for_owner_from", how=how, setting=setting),
    )


def told_set_back(journey: Journey) -> Message | None:
    """Return for an owner how the compensation was set again, in work that leaves skating out."""
    if journey.status(SKATING).state is not StepState.NOT_ASKED or _known(journey)[1]:
        return None
    bodies = (entry.body for entry in journey.fitting.counting())
    back = [body for body in bodies if isinstance(body, SkatingAtZero) and body.is_back]
    if not back:
        return None
    if _is_left_to_follow(journey):
        return None if _moved_since(journey) else message("workflow.set_back.anew_for_owner")
    if back[-1].back_to is None:
        return None
    setting = setting_words(back[-1].back_to, journey.deck)
    return message("workflow.set_back.back_for_owner", setting=setting)


def skating_follows(journey: Journey) -> bool:
    """Whether skating, not part of this work, is still to be set to a changed downforce.

    Not once somebody set it since, where the arm has none, or after the fitting was finished: then
    :func:`set_back_of` says what was left.
    """
    if journey.fitting.is_finished or not journey.status(SKATING).applicability.adjusts:
        return False
    return _is_left_to_follow(journey) and set_back_of(journey) is None and _moved_since(journey)


def _is_left_to_follow(journey: Journey) -> bool:
    """Whether the downforce was moved in work that leaves skating out."""
    is_out = journey.status(SKATING).state is StepState.NOT_ASKED
    return is_out and any(trial.moves for trial in journey.status(FINAL).trials)


def _moved_since(journey: Journey) -> bool:
    """Whether the downforce was last moved after the compensation was last set again."""
    moved = False
    for entry in journey.fitting.counting():
        match entry.body:
            case MoveMade(step=step) if step == FINAL:
                moved = True
            case SkatingAtZero(is_back=True):
                moved = False
            case _:
                pass
    return moved


def _known(journey: Journey) -> tuple[float | None, bool]:
    """Return what it was last known to be set to, and whether it was set to 0 since."""
    known: float | None = None
    open_again = False
    fitting = journey.fitting
    counting = {entry.id: entry.body for entry in fitting.counting()}
    gone = fitting.withdrawn_ids()
    for entry in fitting.entries:
        # A weighing that was left out was made all the same, with the compensation at 0.
        left_out = getattr(entry.body, "step", "") == FINAL and entry.id in gone
        match counting.get(entry.id, entry.body if left_out else None):
            case ReadingTaken(step=step, reading=read) if step == FINAL:
                open_again = open_again or read.get("way") != CHECKED_WAY
            case ReadingTaken(step=step, reading=read) if step == SKATING:
                setting = read.get("setting")
                if isinstance(setting, float | int):
                    open_again, known = False, float(setting)
            case MoveMade(step=step) if step == SKATING:
                open_again, known = False, None
            case SkatingAtZero(was=was, is_back=is_back, back_to=back_to):
                said = was if back_to is None else back_to
                known = known if said is None else said
                open_again = open_again and not is_back
            case _:
                pass
    return known, open_again
