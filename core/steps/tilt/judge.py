"""Tilt: the cartridge upright seen from the front, by gaps, by mirror or by test bands.

The way used last rules. Gaps and mirror are judged together by the learning solver; test bands
find the setting at which the least leaks, which is where the generator stands upright, whatever
its body does.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from core.fitting import Applicability, Assessment, Choices, Context, ways_for
from core.records import Cartridge, Deck
from core.steps.shared import counts_kept, history, questioned
from core.steps.tilt.bands import bands_of
from core.steps.tilt.control import tilt_mechanism_of
from core.steps.tilt.doubts import counted, doubts_of
from core.steps.tilt.effects import disturbed_by
from core.steps.tilt.judge_by_bands import BandJudge
from core.steps.tilt.judge_by_gaps import GapJudge
from core.steps.tilt.readings import Gaps, LeakByTone, LeakRead, Mirror, TestBands

Readings = Annotated[Gaps | Mirror | TestBands | LeakByTone, Field(discriminator="way")]


class TiltChoices(Choices):
    """No choices: the tolerance belongs to the deck."""


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Return whether anything can be turned; tilt can always be read."""
    handle = tilt_mechanism_of(deck, cartridge)
    return Applicability(
        reads=True,
        adjusts=handle.adjusts,
        ways=ways_for(Readings, deck, cartridge),
        reason=handle.lack,
    )


def assess(context: Context) -> Assessment:
    """Judge the tilt and say how far to turn what."""
    return counts_kept(context, _by_itself(context), _by_itself)


def _by_itself(context: Context) -> Assessment:
    """Answer regardless of the number of readings announced before."""
    said = _judged(counted(context))
    return questioned(context, doubts_of(context), said)


def _judged(context: Context) -> Assessment:
    last = next((t.reading for t in reversed(context.trials) if t.reading is not None), None)
    if isinstance(last, LeakRead):
        handle = tilt_mechanism_of(context.deck, context.cartridge)
        events = history(context, disturbed_by)
        bands = bands_of(events, context.deck.bench, handle.step_deg)
        if bands is not None:
            return BandJudge(context, bands, last.way).assessment()
    return GapJudge(context).assessment()
