"""The answer for an arm whose downforce was set after floating, without a scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.estimation import Estimate
from core.fitting import Context, NextReading, Verdict, ways_for
from core.language import Eighths, Interval, Message, Quantity, message
from core.physics.floating import DIAL_STEP_GF, is_within, surest_setting_gf
from core.steps.downforce.weighings import (
    STOP_FACTOR,
    DownforceState,
    Floated,
    Readings,
    gf_per_mm,
    slide_spread,
    slides_by_ruler,
)
from core.steps.downforce.words import stop_message

SCALE: Final = "scale"
FLOAT_AND_DIAL: Final = "float and dial"
FLOAT_AND_SLIDE: Final = "float and slide"
FLOATING: Final = (FLOAT_AND_DIAL, FLOAT_AND_SLIDE)

_SET_TO: Final = 0.5
"""A deviation below this share of the interval is no reason to float the arm again: our own."""

_MOST_TRIES: Final = 3
"""After this many failed attempts to float it the arm is left as it is: our own allowance."""


@dataclass(frozen=True, slots=True)
class FloatAnswer:
    """Verdict and headline; ``asks`` is the next reading, ``now`` the downforce if known."""

    verdict: Verdict
    headline: Message
    now: Estimate | None
    asks: NextReading | None = None
    notes: tuple[Message, ...] = ()


def way_to_weigh(context: Context, status: DownforceState) -> str:
    """Return the way to ask for: the scale if one was used, else the first suitable one."""
    if status.now:
        return SCALE
    return ways_for(Readings, context.deck, context.cartridge)[0]


def floated_by(status: DownforceState) -> str:
    """Return by what the last downforce is known: ``dial`` or ``weight``; empty for a scale."""
    return status.floated.means if status.floated else ""


def can_tell(context: Context, status: DownforceState) -> bool:
    """Whether there is any instrument for downforce; a scale that was read counts."""
    there = context.deck.bench.has_scale or bool(status.now or status.before)
    return there or way_to_weigh(context, status) != SCALE


def setting_of(context: Context) -> float | None:
    """Return the downforce to set so that it is safe, None if none is certain to be."""
    cartridge, bench = context.cartridge, context.deck.bench
    by_ruler = slides_by_ruler(context.deck)
    dial = bench.float_read_gf, bench.dial_error / 100.0
    return surest_setting_gf(
        cartridge.downforce_target_gf,
        cartridge.downforce_min_gf,
        cartridge.downforce_max_gf,
        *(slide_spread(context.deck) if by_ruler else dial),
    )


def float_it(context: Context) -> NextReading:
    """Ask for the arm to be floated and its downforce to be set."""
    mark = setting_of(context)
    mark = context.cartridge.downforce_target_gf if mark is None else mark
    if slides_by_ruler(context.deck):
        size_mm = round(mark / gf_per_mm(context.deck), 1)
        arm = "pivoted" if context.deck.arm.is_pivoted else "parallel"
        size, thread = Quantity(size_mm, "mm", 1), context.deck.arm.counterweight_mm_per_turn
        order = message("downforce.float_and_slide", arm=arm, size=size)
        if thread is not None:
            turns = Eighths(size_mm / thread)
            order = message("downforce.float_and_turn", arm=arm, size=size, turns=turns)
        return NextReading(way=FLOAT_AND_SLIDE, values={"slid_mm": size_mm}, why=order)
    order = message("downforce.float_and_dial", mark=Quantity(mark, "gf"))
    return NextReading(way=FLOAT_AND_DIAL, values={"dial_gf": mark}, why=order)


def without_scale(context: Context) -> Message | None:
    """Return how to set it without the scale that is asked for; None if the arm has no such way."""
    ways = ways_for(Readings, context.deck, context.cartridge)
    if not any(way in FLOATING for way in ways):
        return None
    order = float_it(context).why
    return None if order is None else message("downforce.note.without_scale", order=order)


def float_first(context: Context, floated: Floated, in_vain: int) -> FloatAnswer | None:
    """Return what precedes any judgement: something was left out, or it presses too hard.

    ``in_vain`` is the number of failed attempts in a row.
    """
    if floated.lacks:
        return _unfinished(context, floated, in_vain)
    now, cartridge = floated.put_on, context.cartridge
    stop = STOP_FACTOR * cartridge.downforce_max_gf
    most = now.interval()[1]
    if now.value > stop or (now.value > cartridge.downforce_max_gf and most > stop):
        asks = float_it(context)
        headline = stop_message(now.value, stop)
        notes = (asks.why,) if asks.why else ()
        return FloatAnswer(Verdict.STOP, headline, now, asks, notes)
    return None


def float_safely(context: Context, now: Estimate) -> FloatAnswer | None:
    """Return what to do if the interval is not inside the maker's range; None if it is."""
    low, high = context.cartridge.downforce_min_gf, context.cartridge.downforce_max_gf
    if is_within(now, low, high):
        return None
    allowed = {"low": Quantity(low, "", 2), "high": Quantity(high, "gf")}
    value = Interval(now.value, now.half_width(), "gf")
    certainly = now.interval()[0] > high or now.interval()[1] < low
    if certainly or setting_of(context) is not None:
        asks = float_it(context)
        note = message("downforce.note.dial_outside", value=value, **allowed)
        headline = asks.why or note
        return FloatAnswer(Verdict.READ_AGAIN, headline, now, asks, (note,))
    headline = message("downforce.dial_too_coarse", value=value)
    note = message("downforce.note.dial_too_coarse", **allowed)
    if way_to_weigh(context, DownforceState((), (), moved_since=False)) == SCALE:
        asks = NextReading(way=SCALE, why=headline)
        return FloatAnswer(Verdict.READ_AGAIN, headline, now, asks, (note,))
    return FloatAnswer(Verdict.LEFT_AS_FOUND, headline, now, None, (note,))


def float_to_the_mark(context: Context, now: Estimate, tolerance_gf: float) -> FloatAnswer | None:
    """Return the order to set it to the target, None if that gets no nearer."""
    mark = setting_of(context)
    near = max(tolerance_gf, DIAL_STEP_GF, _SET_TO * now.half_width())
    if mark is None or abs(now.value - mark) <= near:
        return None
    asks = float_it(context)
    off = now.value - context.cartridge.downforce_target_gf
    way = "heavy" if off > 0.0 else "light"
    note = message("downforce.note.dial_off", way=way, off=Quantity(abs(off), "gf"))
    return FloatAnswer(Verdict.READ_AGAIN, asks.why or note, now, asks, (note,))


def _unfinished(context: Context, floated: Floated, in_vain: int) -> FloatAnswer:
    if in_vain >= _MOST_TRIES:
        headline = message("downforce.can_not_float")
        note = message("downforce.note.can_not_float")
        return FloatAnswer(Verdict.LEFT_AS_FOUND, headline, None, None, (note,))
    asks = float_it(context)
    if floated.lacks == "zeroed" and asks.way != FLOAT_AND_DIAL and asks.why is not None:
        return FloatAnswer(Verdict.READ_AGAIN, asks.why, None, asks)  # there is no dial to set
    headline = message("downforce.left_out", what=floated.lacks)
    notes = (asks.why,) if asks.why else ()
    return FloatAnswer(Verdict.READ_AGAIN, headline, None, asks, notes)
