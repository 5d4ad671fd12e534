"""A note on results that depend on the scale's unread zero."""

from __future__ import annotations

from dataclasses import replace

from core.fitting import Assessment, Context, NextReading, Verdict
from core.language import Interval, message
from core.steps.downforce import check_weighings


def zero_first(context: Context, said: Assessment) -> Assessment:
    """Return the answer, and ask for the empty pan if 'good' depends on it unread.

    A scale that shows too little when empty also shows too little with the stylus on it, and
    repeats well. A check weight, or the empty pan read in either step, reveals it.
    """
    if said.verdict is not Verdict.GOOD or check_weighings(context):
        return said
    figure = said.figure("downforce")
    if figure is None:
        return said
    value = Interval(figure.value, figure.half_width or 0.0, "gf")
    headline = message("final_downforce.zero_first", value=value)
    asked = NextReading("empty pan", why=headline)
    return replace(
        said,
        headline=headline,
        on_trust=True,
        next_reading=asked,
        notes=(message("final_downforce.note.zero_first"), *said.notes),
    )
