"""What may have been turned by mistake in place of a control whose move did not show.

Whoever turns another control than the one ordered enters the order as made. The program can't see
it, only that what was ordered has no effect. So what that other control sets is read once more.
"""

from __future__ import annotations

from typing import Final

from core.fitting import Assessment, Control
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
