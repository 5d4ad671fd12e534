"""The status of a fitting's steps: the result of replaying the log."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from core.fitting.assessment import Applicability, Assessment, QualifiedPass
from core.fitting.context import Context, Trial
from core.fitting.log import Entry, Fitting
from core.language import Message, Text
from core.records import Cartridge, Choice, Deck


class StepState(Choice):
    """The state of a step."""

    CLOSED = "closed", "Not ready"
    TO_DO = "to do", "To do"
    IN_HAND = "in hand", "In progress"
    DONE = "done", "Done"
    KEPT = "kept", "Kept by choice"
    CHECK_AGAIN = "check again", "Check again"
    NOT_ASKED = "not asked", "Not in this job"


@dataclass(frozen=True, slots=True)
class Disturbance:
    """The effect of later moves on one figure of a step.

    ``change`` is None when only a reading can tell; ``sends_back`` when the step must be checked.
    """

    key: str
    change: float | None
    unit: str
    predicted: float | None
    sends_back: bool
    sentence: Message | None


@dataclass(frozen=True, slots=True)
class Gate:
    """Whether the stylus may be lowered on a record, and why not."""

    is_open: bool
    reason: Message | None = None


@dataclass(frozen=True, slots=True)
class StepStatus:
    """The present status of one step of a fitting."""

    step: str
    state: StepState
    reason: Text
    assessment: Assessment
    applicability: Applicability
    acceptance: Entry | None
    disturbances: tuple[Disturbance, ...]
    trials: tuple[Trial, ...]
    waits_for: str = ""
    """The step that must be settled before this one is open."""

    @property
    def shown_state(self) -> StepState | QualifiedPass:
        """The state shown on screen; names a pass outside a target or on trust."""
        if self.state is not StepState.DONE:
            return self.state
        if self.assessment.outside:
            return QualifiedPass.DONE
        return QualifiedPass.DONE_ON_TRUST if self.assessment.on_trust else self.state

    @property
    def is_open(self) -> bool:
        """Whether it can be worked on."""
        return not self.waits_for

    @property
    def is_acceptable(self) -> bool:
        """Whether its verdict may be accepted as it is, without a reason."""
        passes = self.assessment.verdict.passes
        return self.is_open and passes and self.state is not StepState.CHECK_AGAIN

    @property
    def is_settled(self) -> bool:
        """Whether nothing is left to do here for now."""
        return self.state in (StepState.DONE, StepState.KEPT, StepState.NOT_ASKED)


@dataclass(frozen=True, slots=True)
class OnArm:
    """The arm of a fitting, on a deck with several.

    ``is_gone``: the deck's record no longer has this arm; the fitting uses the one in its own log.
    """

    key: str
    name: str
    is_gone: bool = False


@dataclass(frozen=True, slots=True)
class Journey:
    """The status of all steps, the stylus gate, and the next step (None: all settled)."""

    deck: Deck
    cartridge: Cartridge
    fitting: Fitting
    statuses: tuple[StepStatus, ...]
    gate: Gate
    contexts: Mapping[str, Context]
    arm: OnArm | None = None
    """The arm; None for a deck with one. ``deck`` is the deck as if it had that arm alone."""

    @property
    def due(self) -> str | None:
        """The first step in order with something left to do."""
        return next((s.step for s in self.statuses if not s.is_settled), None)

    def place_in_job(self, step: str) -> tuple[int, int] | None:
        """Return the number of a step among those of this job, from 1, and how many they are.

        None if the step is not in this job.
        """
        asked = [one.step for one in self.statuses if one.state is not StepState.NOT_ASKED]
        return (asked.index(step) + 1, len(asked)) if step in asked else None

    def status(self, step: str) -> StepStatus:
        """Return the status of a step; KeyError for an unknown step."""
        for status in self.statuses:
            if status.step == step:
                return status
        raise KeyError(step)

    def context(self, step: str) -> Context:
        """Return the context a step was judged by, to judge a draft with."""
        return self.contexts[step]
