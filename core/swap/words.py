"""The words of a plan: moves as orders, predictions, and a line for each step."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from core.fitting import Control, MovePart, Start
from core.language import (
    Eighths,
    Interval,
    Message,
    Name,
    Quantity,
    Series,
    Text,
    Value,
    message,
    shown,
)
from core.steps import step_named
from core.steps.shared import directed
from core.steps.shared.swap_part import Need, RunsOut
from core.swap.model import DueStep, Foretold, SwapPlan
from core.swap.sparing import why_spared
from core.workflow import change_value, described_part

_IN_THE_HEAD: Final = (Control.SLIDE, Control.TWIST)
_BY_THE_PIVOT: Final = (Control.SLIDE, Control.COUNTERWEIGHT)
"""Controls whose orders name the pivot, if the arm has one."""
_ORDERED: Final = (
    Control.PILLAR,
    Control.SLIDE,
    Control.TWIST,
    Control.ARM_BASE,
    Control.COUNTERWEIGHT,
    Control.TILT,
    Control.BASE_SHIM,
    Control.HEAD_SHIM,
    Control.TILT_SHIM,
    Control.SKATING,
)


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A plan's line for one step.

    ``order`` is what to do, None if nothing moves; ``stays`` is said instead, if anything;
    ``facts`` are expectations and earlier values; ``why`` the reasons, each once.
    """

    due: DueStep
    runs_out: tuple[RunsOut, ...]
    order: Message | None
    stays: Message | None
    facts: tuple[Message, ...]
    why: tuple[Text, ...]


def plan_lines(plan: SwapPlan, foretold: Sequence[Foretold]) -> tuple[PlanLine, ...]:
    """Return the lines of a plan, in order of the steps."""
    return tuple(_line(plan, foretold, due) for due in plan.due)


def _line(plan: SwapPlan, foretold: Sequence[Foretold], due: DueStep) -> PlanLine:
    mine = tuple(one for one in plan.runs_out if one.step == due.step)
    ends = any(not one.is_fixed for one in mine)
    starts = tuple(start for start in plan.starts if start.step == due.step)
    moves = any(start.part is not None for start in starts)
    facts: list[Message] = []
    of_step = [one for one in foretold if one.step == due.step]
    ahead = expected(of_step, "ends" if ends else "moves" if moves else "stays")
    was = tuple(
        message("swap.figure", label=shown(one.label), value=one.value)
        for one in plan.was
        if one.step == due.step
    )
    if ahead is not None:
        facts.append(ahead)
    if was:
        facts.append(message("swap.with_old", figures=Series(was, ";")))
    # Where nothing moves and nothing was learned, the step's own reason is enough.
    telling = (start.why for start in starts if moves or start.learned_shift)
    reasons = (*telling, *(() if due.reason is None else (due.reason,)))
    order = orders(starts, ends=ends, parallel=not plan.deck.arm.is_pivoted)
    return PlanLine(
        due=due,
        runs_out=mine,
        order=order,
        stays=_stays(due, starts) if order is None and not mine else None,
        facts=tuple(facts),
        why=tuple(dict.fromkeys(reason for reason in reasons if reason)),
    )


def _stays(due: DueStep, starts: Sequence[Start]) -> Message | None:
    """Return the text for a control that is not moved; None if there is none."""
    left = left_alone(starts)
    if left is not None:
        return left
    if not starts or due.is_out or not step_named(due.step).REPORT.has_control:
        return None
    if due.need is Need.CONFIRM:
        return message("swap.leave_as_it_stands")
    return message("swap.start_as_it_stands")


def order(part: MovePart, *, first: bool = True, parallel: bool = False) -> Message:
    """Return a part of a move as an order: ``Raise the pillar by 2.0 mm``; no full stop.

    A control without an order of its own is worded as in the log. ``parallel`` asks for the words
    of a parallel-tracking arm.
    """
    if part.control not in _ORDERED:
        return described_part(part, parallel=parallel)
    kind = part.control.value
    if part.unit == "turns" and part.control in (Control.PILLAR, Control.COUNTERWEIGHT):
        kind = f"{kind} by turns"
    elif part.unit == "gf" and part.control is Control.COUNTERWEIGHT:
        kind = "downforce"
    move = f"{kind}, {'more' if part.amount > 0 else 'less'}"
    if parallel and part.control in _BY_THE_PIVOT and part.unit != "gf":
        move += ", parallel arm"
    if first:
        return message("swap.order", move=move, size=_size(part))
    return message("swap.further_order", move=move, size=_size(part))


def _size(part: MovePart) -> Value:
    """Return the size of a part's move without its direction: ``2.0 mm``, ``1 ⅜ turns``."""
    size = abs(part.amount)
    if part.unit != "turns":
        return Quantity(size, part.unit, _decimals(part.unit, size))
    if part.equivalent_mm is None:
        return Eighths(size)
    also = Quantity(abs(part.equivalent_mm), "mm", 1)
    return message("swap.turns_and_size", turns=Eighths(size), size=also)


def orders(
    starts: tuple[Start, ...], *, ends: bool = False, parallel: bool = False
) -> Message | None:
    """Return all moves of one step in one sentence; None if nothing is moved.

    Slides and turns in the head are measured from the old cartridge's position; ``ends`` says that
    the control can't go as far; ``parallel`` as for :func:`order`.
    """
    parts = [start.part for start in starts if start.part is not None]
    if not parts:
        return None
    each = (order(part, first=at == 0, parallel=parallel) for at, part in enumerate(parts))
    said = Series(tuple(each), ";")
    where = "in the head" if in_the_head(starts) else "on the deck"
    return message("swap.orders", where=f"{where}, ends" if ends else where, orders=said)


def left_alone(starts: Iterable[Start]) -> Message | None:
    """Return why a step's controls stay where they are; None if no move was spared."""
    said = (why_spared(start) for start in starts)
    return next((one for one in said if one is not None), None)


def in_the_head(starts: Iterable[Start]) -> bool:
    """Whether anything slides or turns in the head, so that the old place must be marked."""
    return any(start.part is not None and start.part.control in _IN_THE_HEAD for start in starts)


def expected(foretold: Iterable[Foretold], when: str) -> Message | None:
    """Return the expected reading: ``Expected: Downforce 2.00 ± 0.06 gf``.

    ``when`` is "moves", "stays" or "ends", as a move may come before it.
    """
    items = tuple(
        message("swap.figure", label=shown(one.label), value=predicted_value(one))
        for one in foretold
    )
    return message("swap.expected", when=when, figures=Series(items, ";")) if items else None


def predicted_value(foretold: Foretold) -> Value:
    """Return the predicted value with its error."""
    return _with_error(foretold.predicted, foretold.half_width, foretold)


def found_value(foretold: Foretold) -> Value:
    """Return the finding, or that nothing was read."""
    if foretold.found is None:
        return message("swap.unread")
    return _with_error(foretold.found, foretold.found_half_width, foretold)


def error_value(foretold: Foretold) -> Value:
    """Return the error of the prediction."""
    if foretold.error is None:
        return Name("–")
    return change_value(foretold.error, foretold.ways, foretold.unit, foretold.decimals)


def _with_error(value: float, half_width: float | None, foretold: Foretold) -> Value:
    size = abs(value) if foretold.ways else value
    said: Value = Quantity(size, foretold.unit, foretold.decimals)
    if half_width is not None:
        said = Interval(size, half_width, foretold.unit, foretold.decimals)
    return directed(said, value, foretold.ways, foretold.decimals)


def _decimals(symbol: str, size: float) -> int | None:
    """Return the decimals of a value: one for mm or degrees, as a hand can do; more for less."""
    if symbol in ("mm", "°"):
        return 1 if size >= 0.095 else 2
    return None
