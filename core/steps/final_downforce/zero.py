"""What rests on the scale's zero says so until somebody read it."""

from __future__ import annotations

from dataclasses import replace

from core.fitting import Assessment, Context, NextReading, Verdict
from core.language import Interval, message
from core.steps.downforce import check_weighings


def zero_first(context: Context, said: Assessment) -> Assessment:
    """Return what was said, and ask for the empty pan where 'good' rests on it unread.

    A scale that shows too little when empty shows too little with the stylus on it as well, and
    repeats that finely. A check weight, or the empty pan read in either step, tells.
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
