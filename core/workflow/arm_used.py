"""The arm a fitting is about, and the deck with that arm and its headshell."""

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
    """The last work on a step of the deck, in a fitting on another of its arms.

    ``moved_at`` is when something of it was moved last, in the fitting of ``moved_with``; None if
    it was only read. ``is_lost``: that fitting can't be read, so its settings are unknown.
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
        """Return when and with which arm it was set or read, and that it must be read."""
        key, at, arm = "read", self.at, self.arm
        if self.moved_at is not None:
            key = "lost" if self.is_lost else "moved"
            at, arm = self.moved_at, self.moved_with or self.arm
        day, arm_said = Name(day_of(at).isoformat()), arm_words(arm)
        return message("arms.deck_work", work=key, step=StepTitle(self.step), day=day, arm=arm_said)


def arm_words(name: str) -> Name | Message:
    """Return the name of an arm, with a default for an unnamed first arm."""
    return Name(name) if name else message("arms.first")


def seen_by(deck: Deck, fitting: Fitting) -> Deck:
    """Return a deck with the fitting's arm alone, and the headshell that is on it."""
    deck = seen_with_arm(deck, fitting.arm or first_arm(deck))
    shell = fitting.headshell
    if shell is not None:
        deck = seen_with_headshell(deck, shell.mass_g, shell.thickness_mm)
    return deck


def on_arm(deck: Deck, fitting: Fitting) -> OnArm | None:
    """Return the arm a fitting is about; None for a deck with one arm and no other named.

    The name is the record's; for an arm missing there, the fitting's.
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
    """Return the note about an arm that the deck's record lacks."""
    if arm is None or not arm.is_gone:
        return ()
    return (message("arms.gone", arm=arm_words(arm.name)),)


def used_arm(arm: MountedArm) -> ArmUsed:
    """Return the entry that names an arm; readings of the deck itself still count."""
    return ArmUsed.of(arm, STEPS_OF_DECK)


def set_aside_by(fitting: Fitting, arm: MountedArm) -> int:
    """Return how many readings, moves and acceptances no longer count with this arm."""
    before = {entry.id for entry in fitting.counting()}
    after = fitting.with_entry(Entry(body=used_arm(arm)))
    gone = before - {entry.id for entry in after.counting()}
    work = ReadingTaken | MoveMade | StepAccepted
    return sum(isinstance(entry.body, work) for entry in fitting.entries if entry.id in gone)


def changes_of_arm(
    fitting: Fitting, arm: MountedArm, deck_revision: int, *, is_known: bool
) -> tuple[Body, ...]:
    """Return the entries that continue the work on another arm.

    Parameters
    ----------
    is_known
        Whether the revision of the deck that the fitting works with has this arm; else it continues
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
