"""What other parts show of a step: the history, the plan of a swap, the bench sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fnmatch import fnmatchcase

from core.fitting import Assessment, Figure
from core.language import Message


@dataclass(frozen=True, slots=True)
class FollowedFigure:
    """A figure that is followed over all fittings of a deck."""

    key: str
    """The figure's key; ``speed_error_*`` is every figure whose key begins so."""
    rank: int
    """Its position among the figures of all steps, lowest first."""
    label: Message | None = None
    """Its name in the history; None uses the last fitting's name."""
    tolerance_of: str = ""
    """The figure of the same step whose tolerance applies to it too."""


@dataclass(frozen=True, slots=True)
class StepReport:
    """Which figures of a step are shown where, after the fitting."""

    followed: tuple[FollowedFigure, ...] = ()
    plan_keys: tuple[str, ...] = ()
    """Figures of the old fitting that the plan of a swap shows; keys as above."""
    plan_keys_without_pivot: tuple[str, ...] = ()
    """Further ones for an arm without a pivot."""
    told_beside: tuple[str, ...] = ()
    """Figures without a target that its result shows too, after those with one; full keys."""
    has_control: bool = True
    """False: it has no control of its own to leave as it is."""
    is_found_at_end: bool = False
    """True: the first reading is only what was set; the finding is where the step ends."""
    is_found_first: bool = False
    """True: a later reading only knows the same better: the first one says what was found."""
    tells_when_found: bool = False
    """True: its result says when it was read as found."""
    worked_out: tuple[str, ...] = ()
    """Figures worked out for the cartridge that is fitted now: nobody found them."""
    needs_error: bool = False
    """True: a figure without an error was stated, not read, and tests no prediction."""
    is_pictured: bool = False
    """True: the bench sheet prints its picture."""
    is_of_deck: bool = False
    """True: it is the deck's, whichever of its arms is worked on; False: it is the arm's."""
    stands_in: str = ""
    """The step that read the same before: its picture is printed where this one was not read, and
    what was found is what it found."""


def figures_named(assessment: Assessment, key: str) -> Iterator[Figure]:
    """Yield the figures of an answer whose key is the given one, or begins as it does."""
    return (figure for figure in assessment.figures if fnmatchcase(figure.key, key))
