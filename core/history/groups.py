"""A deck's fittings kept apart by the arm they were made on, and by the headshell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from core.language import Message, Name, message
from core.steps import STEPS_OF_DECK
from core.steps.shared.swap_part import Past
from core.workflow import arm_words


@dataclass(frozen=True, slots=True)
class Group:
    """Fittings on one arm, in one headshell; ``label`` tells them from the others of the deck."""

    arm: str
    headshell: str
    label: Name | Message

    def holds(self, past: Past) -> bool:
        """Whether a fitting belongs to it."""
        return (self.arm, self.headshell) == group_of(past)


def group_of(past: Past) -> tuple[str, str]:
    """Return the key of a fitting's arm and the id of its headshell, both empty if not named."""
    shell = past.fitting.headshell
    return past.fitting.arm_key, shell.headshell if shell is not None else ""


def groups_of(pasts: Sequence[Past]) -> tuple[Group, ...]:
    """Return the arms and headshells of fittings; none where all were made on and in the same.

    Parameters
    ----------
    pasts
        In order of time; names are those of the last.
    """
    last = {group_of(past): past for past in pasts}
    if len(last) < 2:
        return ()
    has_arms = len({arm for arm, _ in last}) > 1
    has_shells = len({shell for _, shell in last}) > 1
    return tuple(
        Group(*key, _label(past, has_arms=has_arms, has_shells=has_shells))
        for key, past in last.items()
    )


def is_of_deck(step: str) -> bool:
    """Whether what a step reads is the deck's, whatever the arm and the headshell."""
    return step in STEPS_OF_DECK


def _label(past: Past, *, has_arms: bool, has_shells: bool) -> Name | Message:
    arm, shell = past.journey.arm, past.fitting.headshell
    on_arm = arm_words(arm.name if arm is not None else "")
    if not has_shells:
        return on_arm
    in_shell = message("history.no_headshell") if shell is None else Name(shell.name)
    if not has_arms:
        return in_shell
    return message("history.arm_and_headshell", arm=on_arm, headshell=in_shell)
