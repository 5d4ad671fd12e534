"""The steps' part of a swap: what a fitting left, and where to start with another cartridge."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from core.estimation import COVERAGE_FACTOR, MOVE_SHARE, Estimate
from core.fitting import (
    Control,
    Figure,
    Fitting,
    Gain,
    HeadshellUsed,
    Journey,
    MoveMade,
    MovePart,
    Start,
)
from core.language import Message
from core.records import Cartridge, Choice, Deck

MASS_SHARE: Final = 0.02
MASS_LEAST_G: Final = 0.1
HARDWARE_SHARE: Final = 0.1
HEIGHT_U_MM: Final = 0.25
TIP_U_MM: Final = 0.25
"""Errors of a stated mass, height and place of the tip, one standard uncertainty each: our own
allowances, no source. Leaflets round to about as much.
"""

UNREAD_U: Final = 0.5
"""The standard uncertainty of a figure without one, in its unit: our own allowance."""


@dataclass(frozen=True, slots=True)
class Past:
    """A fitting of the deck in the library, with the revisions it worked with."""

    fitting: Fitting
    deck_revision: int
    cartridge_revision: int
    journey: Journey

    @property
    def deck(self) -> Deck:
        """The deck as the fitting knew it."""
        return self.journey.deck

    @property
    def cartridge(self) -> Cartridge:
        """The cartridge as the fitting knew it."""
        return self.journey.cartridge


class Need(Choice):
    """What a step asks for after a swap."""

    SET = "set", "Set again"
    CONFIRM = "confirm", "Confirm by a reading"
    NOTHING = "nothing", "Nothing to do"


@dataclass(frozen=True, slots=True)
class RunsOut:
    """A control that can't go as far as the new cartridge needs, and what would cure it.

    If ``is_fixed`` there is no such control, and ``cure`` says what to do instead.
    """

    step: str
    control: Control
    sentence: Message
    cure: Message
    is_fixed: bool = False


@dataclass(frozen=True, slots=True)
class SwapCase:
    """One swap: the input of the steps' predictions.

    Parameters
    ----------
    pasts
        All fittings of the deck's arm that are known, ``old`` among them, in order of time.
    back
        An earlier fitting of the new cartridge on this deck, whose settings are gone back to.
    headshell
        The headshell that goes on with the new cartridge in it; None where the cartridge is
        exchanged in the head that is on the arm.
    """

    deck: Deck
    old: Past
    new: Cartridge
    gains: tuple[Gain, ...]
    pasts: tuple[Past, ...]
    back: Past | None = None
    headshell: HeadshellUsed | None = None
    on_deck: tuple[Past, ...] = ()
    """All of the deck, those on its other arms among them; none where it has one arm."""

    @property
    def is_other_headshell(self) -> bool:
        """Whether the headshell differs from the one that came off."""
        off = self.old.fitting.headshell
        return self.headshell is not None and (
            off is None or off.headshell != self.headshell.headshell
        )

    @property
    def since_back(self) -> tuple[Past, ...]:
        """The fittings after the one whose settings are restored."""
        if self.back is None:
            return ()
        until = worked_until(self.back)
        return tuple(past for past in self.pasts if worked_until(past) > until)


@dataclass(frozen=True, slots=True)
class StepForecast:
    """A start, and its figure's gain per unit of its part (None without a part).

    ``gain_u`` is the standard uncertainty of the gain, including the execution error. A move is
    always ordered if the figure may exceed ``limit``, or if the control is ``set_anyway``.
    """

    start: Start
    gain: float | None = None
    gain_u: float = 0.0
    limit: float | None = None
    set_anyway: bool = False


@dataclass(frozen=True, slots=True)
class PlanPiece:
    """What a swap means for one step."""

    step: str
    need: Need
    reason: Message | None
    starts: tuple[StepForecast, ...] = ()
    runs_out: tuple[RunsOut, ...] = ()
    warnings: tuple[Message, ...] = ()
    is_out: bool = False
    """The old fitting left it outside its tolerance, and another cartridge does not change that."""


def worked_until(past: Past) -> datetime:
    """Return the time of a fitting's last entry."""
    entries = past.fitting.entries
    return entries[-1].at if entries else past.fitting.started_at


def figure_of(past: Past, step: str, key: str) -> Figure | None:
    """Return a figure as a fitting left it, None if it was never read."""
    return past.journey.status(step).assessment.figure(key)


def figure_anywhere(past: Past, key: str) -> Figure | None:
    """Return a figure as a fitting left it, in whichever step; None if it was never read."""
    found = (status.assessment.figure(key) for status in past.journey.statuses)
    return next((figure for figure in found if figure is not None), None)


def known(past: Past, step: str, key: str, unsaid: float) -> Estimate | None:
    """Return a figure as a fitting left it, what later moves did to it included.

    Parameters
    ----------
    unsaid
        The standard uncertainty of a figure that was foretold, not read, or that says none.
    """
    status = past.journey.status(step)
    figure = status.assessment.figure(key)
    if figure is None or not math.isfinite(figure.value):
        return None
    value = figure.value
    for disturbance in status.disturbances:
        if disturbance.key == key and disturbance.predicted is not None:
            value = disturbance.predicted
    spread = unsaid if figure.half_width is None else spread_of(figure.half_width)
    return Estimate(value, spread) if math.isfinite(spread) else Estimate(value, unsaid)


def spread_of(half_width: float) -> float:
    """Return the standard uncertainty for half of a 95 % interval."""
    return half_width / COVERAGE_FACTOR


def mass_of(cartridge: Cartridge) -> Estimate:
    """Return the stated mass of cartridge and hardware, g."""
    own = max(MASS_LEAST_G, MASS_SHARE * cartridge.mass_g)
    return Estimate(cartridge.moving_g, math.hypot(own, HARDWARE_SHARE * cartridge.hardware_g))


def head_of(past: Past) -> Estimate:
    """Return the mass at the head as a fitting left it: weighed, else stated; with additions, g."""
    stated = mass_of(past.cartridge)
    figure = figure_anywhere(past, "head_mass")
    if figure is None:
        return stated
    if figure.half_width:
        return Estimate(figure.value, spread_of(figure.half_width))
    return Estimate(figure.value, stated.standard_uncertainty)


def new_head(case: SwapCase) -> Estimate:
    """Return the mass of the new cartridge at the head: as weighed here before, else as stated."""
    return head_of(case.back) if case.back is not None else mass_of(case.new)


def parts_of(pasts: Iterable[Past], *controls: Control) -> Iterator[MovePart]:
    """Yield every moved part of these controls in these fittings."""
    for past in pasts:
        for entry in past.fitting.counting():
            if isinstance(entry.body, MoveMade):
                yield from (p for p in entry.body.parts if p.control in controls)


def net_of(
    parts: Iterable[MovePart], amount_of: Callable[[MovePart], float | None], by_hand: float
) -> Estimate | None:
    """Add moves up; None if one of them can't be told.

    Parameters
    ----------
    amount_of
        A part in the unit wanted, None where that can't be told.
    by_hand
        How exactly a small move is made, one standard uncertainty in that unit.
    """
    total, variance = 0.0, 0.0
    for part in parts:
        amount = amount_of(part)
        if amount is None or not math.isfinite(amount) or abs(amount) > 1e4:
            return None
        total += amount
        variance += (MOVE_SHARE * amount) ** 2 + by_hand**2
    return Estimate(total, math.sqrt(variance))


def lift_of(mm_per_turn: float) -> Callable[[MovePart], float | None]:
    """Return the function that gives the rear's lift by a part of the height control, mm."""

    def lift(part: MovePart) -> float | None:
        if part.equivalent_mm is not None:
            return part.equivalent_mm
        if part.unit == "turns":
            return part.amount * mm_per_turn
        return part.amount if part.unit in ("mm", "") else None

    return lift


def head_shim_of(past: Past) -> float:
    """Return the thickness put between head and cartridge in a fitting, mm, at least 0."""
    net = net_of(parts_of([past], Control.HEAD_SHIM), lift_of(1.0), 0.0)
    return max(net.value, 0.0) if net is not None else 0.0


def shim_in(case: SwapCase, past: Past) -> float:
    """Return the thickness between head and cartridge as a fitting left it, mm.

    A shim in a headshell stays there from fitting to fitting.
    """
    shell = past.fitting.headshell
    if case.headshell is None or shell is None:
        return head_shim_of(past)
    return math.fsum(
        head_shim_of(one)
        for one in case.on_deck or case.pasts
        if one.fitting.headshell is not None
        and one.fitting.headshell.headshell == shell.headshell
        and one.fitting.cartridge_id == past.fitting.cartridge_id
        and worked_until(one) <= worked_until(past)
    )


def start(
    step: str,
    key: str,
    unit: str,
    predicted: Estimate | None,
    reason: str,
    part: MovePart | None = None,
) -> Start:
    """Return a start from an estimate."""
    return Start(
        step=step,
        key=key,
        part=part,
        predicted=None if predicted is None else predicted.value,
        half_width=None if predicted is None else predicted.half_width(),
        unit=unit,
        reason=reason,
    )


def agree(one: Estimate, other: Estimate) -> bool:
    """Whether two estimates of one thing agree within their 95 % interval."""
    return one.minus(other).contains(0.0)


def in_order(pasts: Sequence[Past]) -> tuple[Past, ...]:
    """Return fittings in order of time, each once."""
    once = {past.fitting.id: past for past in pasts}
    return tuple(sorted(once.values(), key=worked_until))
