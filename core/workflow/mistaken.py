"""What may have been turned by mistake in place of a control whose move did not show.

Whoever turns another control than the one ordered enters the order as made. The program can't see
it, only that what was ordered has no effect. So what that other control sets is read once more.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from core.fitting import Assessment, Control, Fitting, MoveMade, Trial, Withdrawn
from core.language import Message, message
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.final_downforce import NAME as FINAL
from core.steps.rough_downforce import NAME as ROUGH
from core.steps.tilt import NAME as TILT

_BESIDE: Final[dict[Control, tuple[str, ...]]] = {
    Control.SKATING: (ROUGH, FINAL),
    Control.PILLAR: (TILT,),
    Control.TILT: (ALIGNMENT,),
}
"""Steps whose control lies beside another and is easily turned in its place (common practice, no
source): the counterweight beside the skating dial, the collar for tilt beside the pillar, the
screws of the cartridge beside the head. Not the skating dial for the counterweight: it is set back
after every weighing."""


@dataclass(frozen=True, slots=True)
class WithdrawnMove:
    """A withdrawn move, with the number of counting entries before it and before the withdrawal.

    Whoever finds late that another control was turned takes the entry out and turns that control
    back. If it was read and set right in between, it is wrong from then on.
    """

    control: Control
    made: int
    withdrawn: int


def taken_back(fitting: Fitting) -> Iterator[WithdrawnMove]:
    """Yield the withdrawn moves of controls that another one is easily turned in place of."""
    counting = {entry.id for entry in fitting.counting()}
    gone = fitting.withdrawn_ids()
    made: dict[str, tuple[int, MoveMade]] = {}
    before = 0
    for entry in fitting.entries:
        body = entry.body
        if entry.id in counting:
            before += 1
        elif isinstance(body, MoveMade):
            made[entry.id] = before, body
        elif isinstance(body, Withdrawn) and entry.id not in gone and body.entry in made:
            place, move = made[body.entry]
            for part in move.parts:
                if part.control in _BESIDE:
                    yield WithdrawnMove(part.control, place, before)


def turned_back_reason(control: Control, step: str) -> Message | None:
    """Return why a step is read again after such a move was withdrawn, or None."""
    if step not in _BESIDE.get(control, ()):
        return None
    return message("disturbance.may_be_turned_back", control=control)


def mistaken_reason(control: Control, step: str) -> Message | None:
    """Return why a step is read again after a move of a control that did not show, or None."""
    if step not in _BESIDE.get(control, ()):
        return None
    return message("disturbance.may_be_mistaken", control=control)


def unseen_controls(assessment: Assessment) -> frozenset[Control]:
    """Return the controls that a step asks about now because their moves did not show."""
    return frozenset(
        question.control
        for question in assessment.questions
        if not (question.entry or question.pairs)
    )


def stood_still(control: Control, trials: Sequence[Trial]) -> bool:
    """Return whether the last move of a control may not have been made on it at all.

    Where a step reads how the control itself is set, only if that is as before the move: a dial
    that went as entered was turned, whatever the bands then tell.
    """
    if control is not Control.SKATING:
        return True
    after: list[float] = []
    for place in range(len(trials) - 1, -1, -1):
        setting = getattr(trials[place].reading, "setting", None)
        if isinstance(setting, float | int):
            after.append(float(setting))
        elif trials[place].moves and after:
            before = (getattr(one.reading, "setting", None) for one in reversed(trials[:place]))
            return next((one for one in before if one is not None), None) == after[-1]
    return False
