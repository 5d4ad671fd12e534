"""What is answered of an arm that was floated and had its downforce put on, without a scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.estimation import Estimate
from core.fitting import Context, NextReading, Verdict, ways_for
from core.language import Interval, Message, Quantity, message
from core.physics.floating import DIAL_STEP_GF, is_within, surest_setting_gf
from core.steps.downforce.weighings import (
    STOP_FACTOR,
    DownforceState,
    Floated,
    Readings,
)
from core.steps.downforce.words import stop_message

SCALE: Final = "scale"
FLOAT_AND_DIAL: Final = "float and dial"

_MOST_TRIES: Final = 3
"""An arm that can't be floated so many times in a row is left as it is: our own allowance."""


@dataclass(frozen=True, slots=True)
class FloatAnswer:
    """Verdict and headline; ``asks`` is what to read next, ``now`` what presses if known."""

    verdict: Verdict
    headline: Message
    now: Estimate | None
    asks: NextReading | None = None
    notes: tuple[Message, ...] = ()


def way_to_weigh(context: Context, status: DownforceState) -> str:
    """Return the way to ask for: the scale where one was used, else the first on offer."""
    if status.now:
        return SCALE
    return ways_for(Readings, context.deck, context.cartridge)[0]


def setting_of(context: Context) -> float | None:
    """Return the mark to set the dial to so that downforce is safe, None if none is sure to be."""
    bench, cartridge = context.deck.bench, context.cartridge
    return surest_setting_gf(
        cartridge.downforce_target_gf,
        cartridge.downforce_min_gf,
        cartridge.downforce_max_gf,
        bench.float_read_gf,
        bench.dial_error / 100.0,
    )


def float_it(context: Context) -> NextReading:
    """Ask for the arm to be floated and its dial set."""
    mark = setting_of(context)
    mark = context.cartridge.downforce_target_gf if mark is None else mark
    order = message("downforce.float_and_dial", mark=Quantity(mark, "gf"))
    return NextReading(way=FLOAT_AND_DIAL, values={"dial_gf": mark}, why=order)


def float_first(context: Context, floated: Floated, in_vain: int) -> FloatAnswer | None:
    """Return what comes before any judgement: something was left out, or it presses too hard.

    ``in_vain``: how many tries in a row came to nothing.
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
    """Return what to do where the interval does not lie in the maker's range; None if it does."""
    low, high = context.cartridge.downforce_min_gf, context.cartridge.downforce_max_gf
    if is_within(now, low, high):
        return None
    allowed = {"low": Quantity(low, "", 2), "high": Quantity(high, "gf")}
    value = Interval(now.value, now.half_width(), "gf")
    if setting_of(context) is not None:
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
    """Return the order to set it where it belongs, None if a dial gets no nearer."""
    mark = setting_of(context)
    if mark is None or abs(now.value - mark) <= max(tolerance_gf, DIAL_STEP_GF):
        return None
    asks = float_it(context)
    off = Quantity(now.value - context.cartridge.downforce_target_gf, "gf", form="signed")
    note = message("downforce.note.dial_off", off=off)
    return FloatAnswer(Verdict.READ_AGAIN, asks.why or note, now, asks, (note,))


def _unfinished(context: Context, floated: Floated, in_vain: int) -> FloatAnswer:
    if in_vain >= _MOST_TRIES:
        headline = message("downforce.can_not_float")
        note = message("downforce.note.can_not_float")
        return FloatAnswer(Verdict.LEFT_AS_FOUND, headline, None, None, (note,))
    asks = float_it(context)
    headline = message("downforce.left_out", what=floated.lacks)
    notes = (asks.why,) if asks.why else ()
    return FloatAnswer(Verdict.READ_AGAIN, headline, None, asks, notes)
