"""Which arm of a deck a fitting is about, and the deck as that arm and its headshell make it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from core.fitting import (
    ArmUsed,
    Body,
    Entry,
    Fitting,
    MoveMade,
    OnArm,
    ReadingTaken,
    StepAccepted,
    ThingsRevised,
    Work,
)
from core.language import Message, Name, StepTitle, day_of, message
from core.records import (
    FIRST_ARM,
    Deck,
    MountedArm,
    arm_of,
    first_arm,
    seen_with_arm,
    seen_with_headshell,
)
from core.steps import STEPS_OF_DECK
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.tilt import NAME as TILT
from core.workflow.work import work_asked


@dataclass(frozen=True, slots=True)
class OtherArmWork:
    """The last work on a step that is the deck's, in a fitting on another of its arms.

    ``moved_at`` is when something of it was moved last, in the fitting of ``moved_with``; None if
    it was only read. ``is_lost``: that fitting can't be read, so nobody knows what was set.
    """

    step: str
    at: datetime
    moved_at: datetime | None
    arm: str
    moved_with: str = ""
    is_lost: bool = False

    def and_also(self, other: OtherArmWork) -> OtherArmWork:
        """Return the later work of both, with the later move of both."""
        last = other if other.at >= self.at else self
        moves = [one for one in (self, other) if one.moved_at is not None]
        if not moves:
            return last
        moved = max(moves, key=lambda one: one.moved_at or one.at)
        return replace(
            last, moved_at=moved.moved_at, moved_with=moved.moved_with, is_lost=moved.is_lost
        )

    @property
    def said(self) -> Message:
        """When and with which arm it was set, or read if it was only read; and that it be read."""
        key, at, arm = "read", self.at, self.arm
        if self.moved_at is not None:
            key = "lost" if self.is_lost else "moved"
            at, arm = self.moved_at, self.moved_with or self.arm
        day, arm_said = Name(day_of(at).isoformat()), arm_words(arm)
        return message("arms.deck_work", work=key, step=StepTitle(self.step), day=day, arm=arm_said)


def arm_words(name: str) -> Name | Message:
    """Return what an arm is called; a first arm that nobody has named is called so."""
    return Name(name) if name else message("arms.first")


def seen_by(deck: Deck, fitting: Fitting) -> Deck:
    """Return a deck as a fitting sees it: with its arm alone, and the headshell that is on it."""
    deck = seen_with_arm(deck, fitting.arm or first_arm(deck))
    shell = fitting.headshell
    if shell is not None:
        deck = seen_with_headshell(deck, shell.mass_g, shell.thickness_mm)
    return deck


def on_arm(deck: Deck, fitting: Fitting) -> OnArm | None:
    """Return which arm a fitting is about; None where the deck has one, and nothing says another.

    The name is that of the record; of an arm that it does not have, what the fitting says.
    """
    used = fitting.arm
    if used is None:
        return OnArm(FIRST_ARM, deck.first_arm_name) if deck.further_arms else None
    known = arm_of(deck, used.key)
    if known is None:
        return OnArm(used.key, used.name, is_gone=True)
    if not deck.further_arms and used.key == FIRST_ARM:
        return None
    return OnArm(used.key, known.name)


def told_of_arm(arm: OnArm | None) -> tuple[Message, ...]:
    """Return what must be said of an arm that the deck's record does not have."""
    if arm is None or not arm.is_gone:
        return ()
    return (message("arms.gone", arm=arm_words(arm.name)),)


def used_arm(arm: MountedArm) -> ArmUsed:
    """Return the entry that names an arm; what was read of the deck itself goes on counting."""
    return ArmUsed.of(arm, STEPS_OF_DECK)


def set_aside_by(fitting: Fitting, arm: MountedArm) -> int:
    """Return how many readings, moves and acceptances count no more once this arm is named."""
    before = {entry.id for entry in fitting.counting()}
    after = fitting.with_entry(Entry(body=used_arm(arm)))
    gone = before - {entry.id for entry in after.counting()}
    work = ReadingTaken | MoveMade | StepAccepted
    return sum(isinstance(entry.body, work) for entry in fitting.entries if entry.id in gone)


def changes_of_arm(
    fitting: Fitting, arm: MountedArm, deck_revision: int, *, is_known: bool
) -> tuple[Body, ...]:
    """Return the entries by which the work goes on on another arm.

    Parameters
    ----------
    is_known
        Whether the revision of the deck that the fitting works with has this arm; else it goes on
        with ``deck_revision``.

    In a headshell changed on another arm, alignment and tilt are to be read: they hold for one arm.
    """
    found: list[Body] = []
    if fitting.work is not None and fitting.work.work is Work.HEADSHELL:
        found.append(work_asked(Work.HEADSHELL, (ALIGNMENT, TILT)))
    if not is_known:
        cartridge_revision = fitting.revisions[1]
        found.append(
            ThingsRevised(deck_revision=deck_revision, cartridge_revision=cartridge_revision)
        )
    return (*found, used_arm(arm))
