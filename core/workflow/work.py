"""The kinds of work: all nine steps, or a short job."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Final

from core.fitting import Assessment, Context, Verdict, Work, WorkAsked
from core.language import Message, message
from core.steps import STEP_NAMES, step_named
from core.steps.arm_height import NAME as HEIGHT
from core.steps.final_downforce import NAME as FINAL
from core.steps.level import NAME as LEVEL
from core.steps.mount import NAME as MOUNT
from core.steps.rough_downforce import NAME as ROUGH
from core.steps.skating import NAME as SKATING
from core.steps.speed import NAME as SPEED
from core.workflow.descriptions import figure_value, target_value

STEPS_OF_WORK: Final[Mapping[Work, tuple[str, ...]]] = {
    Work.WHOLE: STEP_NAMES,
    Work.CHECK_UP: STEP_NAMES,
    Work.DOWNFORCE: (FINAL,),
    Work.SPEED: (SPEED,),
    # The head was not touched: transport disturbs only what was taken off and put back.
    Work.AFTER_TRANSPORT: (LEVEL, MOUNT, ROUGH, SKATING, FINAL, SPEED),
    # The cartridge stayed in its headshell; if not, its place in it is read as well.
    Work.HEADSHELL: (MOUNT, ROUGH, HEIGHT, SKATING, FINAL),
}
"""The steps of each kind of work: common practice, no source."""


def work_asked(work: Work, also: Collection[str] = ()) -> WorkAsked:
    """Return the entry that asks for a kind of work, and for these steps as well."""
    steps = tuple(one for one in STEP_NAMES if one in STEPS_OF_WORK[work] or one in also)
    return WorkAsked(
        work=work, steps=steps, moves=work is not Work.CHECK_UP, is_check=steps == STEP_NAMES
    )


def told_as_set(assessment: Assessment, context: Context) -> Assessment:
    """Return a step's answer, aware whether anything in it was set in this fitting.

    A step whose trials count for another's (:class:`core.steps.shared.StepReport`) sets it too.
    """
    steps = (context.step, step_named(context.step).REPORT.stands_in)
    if any(trial.sets for step in steps for trial in context.log.get(step, ())):
        return replace(assessment, was_set=True)
    return assessment


def as_asked(assessment: Assessment, asked: WorkAsked | None) -> Assessment:
    """Return a step's answer for this work: a check-up moves nothing.

    Danger to a stylus or a person remains a stop, with its order.
    """
    if asked is None or asked.moves or assessment.verdict is not Verdict.MOVE:
        return assessment
    return replace(
        assessment,
        verdict=Verdict.LEFT_AS_FOUND,
        headline=_outside(assessment),
        next_move=None,
        questions=(),
        next_reading=None,
    )


def _outside(assessment: Assessment) -> Message:
    wide = next((figure for figure in assessment.figures if figure.is_outside), None)
    target = None if wide is None else target_value(wide)
    if wide is None or target is None:
        return message("workflow.work.not_as_wanted")
    return message(
        "workflow.work.outside", figure=wide.label, now=figure_value(wide), wanted=target
    )
