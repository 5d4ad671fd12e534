"""Another headshell with its cartridge on a deck: which steps it needs, and where to start."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

from core.fitting import Control, Fitting, MoveMade, Planned, Work, WorkAsked
from core.language import Message, Name, day_of, message
from core.records import FIRST_ARM, Deck
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.final_downforce import NAME as FINAL
from core.steps.rough_downforce import NAME as ROUGH
from core.steps.shared.swap_part import Past, worked_until
from core.steps.tilt import NAME as TILT
from core.swap.past import past_of
from core.swap.plan import plan_swap
from core.workflow import STEPS_OF_WORK, seen_by, work_asked

if TYPE_CHECKING:
    from core.store import FittingRow, Library, Stored

_MOST_PASTS: Final = 12
"""Number of the deck's finished fittings that the plan uses, the latest first."""

_IN_HEAD: Final = frozenset(
    {Control.CARTRIDGE, Control.SLIDE, Control.TWIST, Control.HEAD_SHIM, Control.TILT_SHIM}
)
"""Controls of the cartridge in its headshell: moving one undoes its setting."""

_ON_DECK: Final = frozenset({Control.ARM_BASE, Control.TILT})
"""Controls of the deck that affect the cartridge in every headshell."""


@dataclass(frozen=True, slots=True)
class HeadshellSetting:
    """When alignment and tilt were set in a headshell for a deck, and whether that still holds.

    ``set_by`` is the finished fitting that set both, None if there is none; ``apart`` the day from
    which they are doubted, None if they hold.
    """

    set_by: Past | None
    apart: str | None

    @property
    def holds(self) -> bool:
        """Whether alignment and tilt need not be asked for."""
        return self.set_by is not None and self.apart is None

    @property
    def said(self) -> Message:
        """Return whether they still hold, and why."""
        if self.set_by is None:
            return message("swap.headshell.never_set")
        day = Name(_day(worked_until(self.set_by)))
        if self.apart is not None:
            return message("swap.headshell.apart", day=day, apart=Name(self.apart))
        return message("swap.headshell.still_set", day=day)


@dataclass(frozen=True, slots=True)
class HeadshellChange:
    """The steps that putting a headshell on needs.

    ``planned`` is None if the deck has no finished fitting to start from.
    """

    setting: HeadshellSetting
    work: WorkAsked
    planned: Planned | None


def cartridge_in(library: Library, headshell_id: str) -> str:
    """Return the id of the cartridge in a headshell by its last fitting, or None."""
    rows = library.fittings(headshell_id=headshell_id, limit=1)
    return rows[0].cartridge_id if rows else ""


def setting_of(
    library: Library,
    deck_id: str,
    headshell_id: str,
    cartridge_id: str,
    arm_key: str = FIRST_ARM,
) -> HeadshellSetting:
    """Return whether alignment and tilt of a cartridge in a headshell still hold on an arm.

    They belong to the headshell on one arm. They hold if a finished fitting of it on this arm set
    both, and nothing they depend on has been moved since: neither in the headshell, on any arm, nor
    the base or the head of this one.

    Raises LibraryProblem if anything of it can't be read.
    """
    with library.snapshot():
        taken_apart = library.headshell(headshell_id).thing.taken_apart
        deck = library.deck(deck_id)
        of_shell = library.fittings(headshell_id=headshell_id)
        set_by = _set_by(library, of_shell, (deck_id, arm_key, cartridge_id))
        if set_by is None:
            return HeadshellSetting(None, None)
        rows = (*library.fittings(deck_id=deck_id, arm_key=arm_key), *of_shell)
        later = _later(library, rows, set_by)
    return HeadshellSetting(set_by, _apart_on(set_by, later, deck, headshell_id, taken_apart))


def headshell_change(
    library: Library,
    deck_id: str,
    headshell_id: str,
    cartridge_id: str,
    arm_key: str = FIRST_ARM,
) -> HeadshellChange:
    """Return the steps that putting a headshell on an arm needs, and where to start.

    Raises LibraryProblem if anything of it can't be read.
    """
    with library.snapshot():
        setting = setting_of(library, deck_id, headshell_id, cartridge_id, arm_key)
        deck, cartridge = library.deck(deck_id), library.cartridge(cartridge_id)
        rows = library.fittings(deck_id=deck_id, finished=True, limit=_MOST_PASTS)
        pasts = tuple(past_of(library, row.id) for row in rows)
    planned = None
    mine = (past for past in pasts if past.fitting.arm_key == arm_key)
    old = next((past for past in mine if _is_weighed(past)), None)
    if old is not None:
        plan = plan_swap(
            deck.thing,
            old,
            cartridge.thing,
            pasts,
            new_cartridge_id=cartridge_id,
            headshell=library.used_headshell(headshell_id),
        )
        if plan.cannot_fit is None:
            steps = STEPS_OF_WORK[Work.HEADSHELL]
            starts = tuple(one for one in plan.starts if one.step in steps)
            planned = plan.planned().model_copy(update={"starts": starts})
    also = () if setting.holds else (ALIGNMENT, TILT)
    return HeadshellChange(setting, work_asked(Work.HEADSHELL, also), planned)


def _is_weighed(past: Past) -> bool:
    """Whether a fitting left a downforce to start from."""
    steps = past.journey.fitting.work
    return any(
        past.journey.status(step).assessment.figure("downforce") is not None
        for step in (FINAL, ROUGH)
        if steps is None or step in steps.steps
    )


def _set_by(
    library: Library, of_shell: Iterable[FittingRow], wanted: tuple[str, str, str]
) -> Past | None:
    """Return the newest finished fitting of a headshell that asked for alignment and tilt."""
    for row in of_shell:
        if row.finished and (row.deck_id, row.arm_key, row.cartridge_id) == wanted:
            past = past_of(library, row.id)
            work = past.fitting.work
            if work is None or {ALIGNMENT, TILT} <= {*work.steps}:
                return past
    return None


def _later(library: Library, rows: Iterable[FittingRow], than: Past) -> list[Fitting]:
    """Return the other fittings with later entries."""
    since = {row.id for row in rows if row.last_at > worked_until(than)} - {than.fitting.id}
    return [library.fitting(one) for one in sorted(since)]


def _apart_on(
    set_by: Past, later: Iterable[Fitting], deck: Stored[Deck], headshell_id: str, taken_apart: str
) -> str | None:
    """Return the first day on which something moved that alignment and tilt rest on, or None.

    On the day of that fitting itself, it may have moved after the fitting.
    """
    was = set_by.deck.arm
    days = [day for one in later for day in _moved_on(one, set_by.fitting, headshell_id)]
    set_on = _day(worked_until(set_by))
    if taken_apart and taken_apart >= set_on:
        days.append(taken_apart)
    now = seen_by(deck.thing, set_by.fitting).arm
    geometry = ("pivot_to_spindle_mm", "effective_length_mm", "offset_deg")
    if any(getattr(was, one) != getattr(now, one) for one in geometry):
        days.append(_day(deck.at))
    return min(days, default=None)


def _moved_on(fitting: Fitting, set_by: Fitting, headshell_id: str) -> Iterator[str]:
    shell = fitting.headshell
    in_it = shell is not None and shell.headshell == headshell_id
    if in_it and fitting.cartridge_id != set_by.cartridge_id:
        yield _day(fitting.started_at)
    on_it = (fitting.deck_id, fitting.arm_key) == (set_by.deck_id, set_by.arm_key)
    minds = (_IN_HEAD if in_it else frozenset()) | (_ON_DECK if on_it else frozenset())
    for entry in fitting.counting():
        body = entry.body
        if isinstance(body, MoveMade) and any(part.control in minds for part in body.parts):
            yield _day(entry.at)


def _day(at: datetime) -> str:
    return day_of(at).isoformat()
