"""Another headshell on a deck, its cartridge in it: what it asks for, and where to start."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from core.fitting import Control, Fitting, HeadshellUsed, MoveMade, Planned, Work, WorkAsked
from core.language import Message, Name, day_of, message
from core.records import Deck
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.shared.swap_part import Past, worked_until
from core.steps.tilt import NAME as TILT
from core.swap.past import past_of
from core.swap.plan import plan_swap
from core.workflow.work import STEPS_OF_WORK, work_asked

if TYPE_CHECKING:
    from core.store import FittingRow, Library, Stored

_MOST_PASTS: Final = 24
"""Finished fittings of the deck that the plan looks at, the latest first."""

_IN_HEAD: Final = frozenset(
    {Control.CARTRIDGE, Control.SLIDE, Control.TWIST, Control.HEAD_SHIM, Control.TILT_SHIM}
)
"""What sets the cartridge in its headshell: to move one of them takes the headshell apart."""

_ON_DECK: Final = frozenset({Control.ARM_BASE, Control.TILT})
"""What is on the deck and changes where a cartridge stands in every headshell."""


@dataclass(frozen=True, slots=True)
class HeadshellChange:
    """What putting a headshell on asks for.

    ``planned`` is None where the deck has no finished fitting to set out from; ``said`` says
    whether alignment and tilt still hold, and why.
    """

    cartridge_id: str
    work: WorkAsked
    planned: Planned | None
    said: Message
    is_set: bool


def cartridge_in(library: Library, headshell_id: str) -> str:
    """Return the id of the cartridge that is in a headshell, as its last fitting says; or none."""
    rows = library.fittings(headshell_id=headshell_id, limit=1)
    return rows[0].cartridge_id if rows else ""


def headshell_change(
    library: Library, deck_id: str, headshell_id: str, cartridge_id: str
) -> HeadshellChange:
    """Work out what putting a headshell on a deck asks for.

    Alignment and tilt go with the headshell. They are asked for again unless a finished fitting of
    it on this deck set both with this cartridge, and nothing has been moved since that they rest
    on: neither in the headshell, on any deck, nor the arm base or the head on this one.

    Raises LibraryProblem if anything of it can't be read.
    """
    with library.snapshot():
        shell = library.headshell(headshell_id)
        deck = library.deck(deck_id)
        cartridge = library.cartridge(cartridge_id)
        on_deck = library.fittings(deck_id=deck_id)
        of_shell = library.fittings(headshell_id=headshell_id)
        set_by = _set_by(library, of_shell, deck_id, cartridge_id)
        apart = None
        if set_by is not None:
            later = _later(library, (*on_deck, *of_shell), set_by)
            apart = _apart_on(set_by, later, deck, headshell_id, shell.thing.taken_apart)
        finished = [row.id for row in on_deck if row.finished]
        pasts = tuple(past_of(library, one) for one in finished[:_MOST_PASTS])
    is_set = set_by is not None and apart is None
    planned = None
    old = next((past for past in pasts if _is_weighed(past)), None)
    if old is not None:
        plan = plan_swap(
            deck.thing,
            old,
            cartridge.thing,
            pasts,
            new_cartridge_id=cartridge_id,
            headshell=HeadshellUsed.of(headshell_id, shell.thing),
        )
        if plan.cannot_fit is None:
            steps = STEPS_OF_WORK[Work.HEADSHELL]
            starts = tuple(one for one in plan.starts if one.step in steps)
            planned = plan.planned().model_copy(update={"starts": starts})
    return HeadshellChange(
        cartridge_id=cartridge_id,
        work=work_asked(Work.HEADSHELL, () if is_set else (ALIGNMENT, TILT)),
        planned=planned,
        said=_said(set_by, apart),
        is_set=is_set,
    )


def _said(set_by: Past | None, apart: str | None) -> Message:
    if set_by is None:
        return message("swap.headshell.never_set")
    day = Name(day_of(worked_until(set_by)).isoformat())
    if apart is not None:
        return message("swap.headshell.apart", day=day, apart=Name(apart))
    return message("swap.headshell.still_set", day=day)


def _is_weighed(past: Past) -> bool:
    """Whether a fitting left a downforce to reckon from."""
    steps = past.journey.fitting.work
    return any(
        past.journey.status(step).assessment.figure("downforce") is not None
        for step in ("final_downforce", "rough_downforce")
        if steps is None or step in steps.steps
    )


def _set_by(
    library: Library, of_shell: Iterable[FittingRow], deck_id: str, cartridge_id: str
) -> Past | None:
    """Return the newest finished fitting of a headshell that asked for alignment and tilt."""
    for row in of_shell:
        if row.finished and (row.deck_id, row.cartridge_id) == (deck_id, cartridge_id):
            past = past_of(library, row.id)
            work = past.fitting.work
            if work is None or {ALIGNMENT, TILT} <= {*work.steps}:
                return past
    return None


def _later(library: Library, rows: Iterable[FittingRow], than: Past) -> list[Fitting]:
    """Return the other fittings that were worked on since."""
    since = {row.id for row in rows if row.last_at > worked_until(than)} - {than.fitting.id}
    return [library.fitting(one) for one in sorted(since)]


def _apart_on(
    set_by: Past, later: Iterable[Fitting], deck: Stored[Deck], headshell_id: str, taken_apart: str
) -> str | None:
    """Return the first day on which something moved that alignment and tilt rest on, or None.

    What was taken apart on the day of that fitting may have been so after it.
    """
    was = set_by.deck.arm
    days = [day for one in later for day in _moved_on(one, set_by.fitting, headshell_id)]
    set_on = day_of(worked_until(set_by)).isoformat()
    if taken_apart and taken_apart >= set_on:
        days.append(taken_apart)
    now = deck.thing.arm
    geometry = ("pivot_to_spindle_mm", "effective_length_mm", "offset_deg")
    if any(getattr(was, one) != getattr(now, one) for one in geometry):
        days.append(_day(day_of(deck.at)))
    return min(days, default=None)


def _moved_on(fitting: Fitting, set_by: Fitting, headshell_id: str) -> Iterator[str]:
    shell = fitting.headshell
    in_it = shell is not None and shell.headshell == headshell_id
    if in_it and fitting.cartridge_id != set_by.cartridge_id:
        yield _day(day_of(fitting.started_at))
    on_it = fitting.deck_id == set_by.deck_id
    minds = (_IN_HEAD if in_it else frozenset()) | (_ON_DECK if on_it else frozenset())
    for entry in fitting.counting():
        body = entry.body
        if isinstance(body, MoveMade) and any(part.control in minds for part in body.parts):
            yield _day(day_of(entry.at))


def _day(day: date) -> str:
    return day.isoformat()
