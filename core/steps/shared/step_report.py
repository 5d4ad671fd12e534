"""What a step hands on of itself: to the history, to the plan of a swap, to the bench sheet."""

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
    """Its place among those of all steps, lowest first."""
    label: Message | None = None
    """How it is called over time; None calls it what the last fitting calls it."""
    tolerance_of: str = ""
    """The figure of the same step whose tolerance holds for it too."""


@dataclass(frozen=True, slots=True)
class StepReport:
    """Which figures of a step are told where, once the fitting is over."""

    followed: tuple[FollowedFigure, ...] = ()
    plan_keys: tuple[str, ...] = ()
    """Figures of the old fitting that the plan of a swap tells; keys as above."""
    plan_keys_without_pivot: tuple[str, ...] = ()
    """Those it tells besides on an arm that has no pivot."""
    told_beside: tuple[str, ...] = ()
    """Figures without a target that its result tells too, after those with one; keys in full."""
    has_control: bool = True
    """False: nothing of its own could be left where it stands."""
    is_found_at_end: bool = False
    """True: the first reading is only what was set, and what was found is where the step ends."""
    needs_error: bool = False
    """True: a figure without an error was stated, not read, and tests no prediction."""
    is_pictured: bool = False
    """True: the bench sheet prints its picture."""
    is_of_deck: bool = False
    """True: it is the deck's, whichever of its arms is worked on; False: it is the arm's."""
    stands_in: str = ""
    """The step whose picture is printed where this one was not read."""


def figures_named(assessment: Assessment, key: str) -> Iterator[Figure]:
    """Yield the figures of an answer whose key is the given one, or begins as it does."""
    return (figure for figure in assessment.figures if fnmatchcase(figure.key, key))
