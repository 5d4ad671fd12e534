"""The append-only log of a fitting, what a step is handed, and what it answers."""

from importlib import import_module
from typing import TYPE_CHECKING

from core.fitting.assessment import (
    KEEP_STYLUS_UP,
    WITHOUT_AMOUNT,
    Act,
    Applicability,
    Assessment,
    Control,
    Figure,
    Guard,
    MorePicture,
    Move,
    MovePart,
    NextReading,
    Pair,
    QualifiedPass,
    Question,
    Verdict,
)
from core.fitting.log import (
    CHECKED_WAY,
    FLOATED_ANEW,
    ArmUsed,
    BalanceHeard,
    Body,
    ChannelsHeard,
    ChoiceMade,
    Entry,
    Finished,
    Fitting,
    Gain,
    HeadshellUsed,
    HoursRead,
    HumHeard,
    JobGiven,
    ListeningCheck,
    LogText,
    MoveMade,
    NoteWritten,
    PhaseHeard,
    Planned,
    ReadingTaken,
    Reopened,
    SkatingAtZero,
    Start,
    StepAccepted,
    ThingsRevised,
    Who,
    Withdrawn,
    Work,
    WorkAsked,
    new_id,
)

if TYPE_CHECKING:
    from core.fitting.context import (
        Choices,
        Context,
        ControlChecked,
        Reading,
        Trial,
        reading_classes,
        ways_for,
    )
    from core.fitting.status import Disturbance, Gate, Journey, OnArm, StepState, StepStatus

__all__ = [
    "CHECKED_WAY",
    "FLOATED_ANEW",
    "KEEP_STYLUS_UP",
    "WITHOUT_AMOUNT",
    "Act",
    "Applicability",
    "ArmUsed",
    "Assessment",
    "BalanceHeard",
    "Body",
    "ChannelsHeard",
    "ChoiceMade",
    "Choices",
    "Context",
    "Control",
    "ControlChecked",
    "Disturbance",
    "Entry",
    "Figure",
    "Finished",
    "Fitting",
    "Gain",
    "Gate",
    "Guard",
    "HeadshellUsed",
    "HoursRead",
    "HumHeard",
    "JobGiven",
    "Journey",
    "ListeningCheck",
    "LogText",
    "MorePicture",
    "Move",
    "MoveMade",
    "MovePart",
    "NextReading",
    "NoteWritten",
    "OnArm",
    "Pair",
    "PhaseHeard",
    "Planned",
    "QualifiedPass",
    "Question",
    "Reading",
    "ReadingTaken",
    "Reopened",
    "SkatingAtZero",
    "Start",
    "StepAccepted",
    "StepState",
    "StepStatus",
    "ThingsRevised",
    "Trial",
    "Verdict",
    "Who",
    "Withdrawn",
    "Work",
    "WorkAsked",
    "new_id",
    "reading_classes",
    "ways_for",
]

if not TYPE_CHECKING:

    def __getattr__(name: str) -> object:
        """Import on first use what the first screen, the list of decks, does not need."""
        if name in __all__:
            for module in ("context", "status"):
                found = vars(import_module(f"{__name__}.{module}"))
                if name in found:
                    globals()[name] = found[name]
                    return found[name]
        raise AttributeError(name)
