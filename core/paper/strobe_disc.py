"""The strobe disc: a ring of bars for each speed and lamp, that stands still at that speed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from core.drawing.marks import FINE, HAIR, Circle, Line, Mark, RingWords, Sector, shifted
from core.language import Name, Numbers, cautions, message
from core.paper.check_lines import CHECK_LINES, check_line_across, check_line_along, print_advice
from core.paper.lettering import Measure, TextColumn, rough_width
from core.paper.protractor import spindle_marks
from core.paper.sheet import PaperProblem, PaperSize, Sheet, printable
from core.physics.strobe import BarCount, nearest_bars
from core.records import Deck

OUTER_MM: Final = 86.0
"""Outer edge of the outermost ring: leaves the label of a record free and fits both papers."""

_INNER_MM: Final = 24.0
_WIDEST_MM: Final = 12.0
_LABEL_MM: Final = 5.0
_NARROWEST_MM: Final = 4.0
_FINEST_PITCH_MM: Final = 0.8
"""Bar and gap together: finer ones run together on an ordinary printer (our estimate)."""

_FEWEST_BARS: Final = 8
_SAME_PERCENT: Final = 0.0005
"""A speed closer than this to the nominal one counts as exact: half the last digit printed."""

CAUTIONS: Final = ("flashing", "unplug", "moving_parts")
"""Keys of resources/cautions.toml that are printed on the disc's sheet and shown beside it."""


@dataclass(frozen=True, slots=True)
class Ring:
    """One ring of bars; half of each turn's length is black."""

    speed_rpm: float
    flashes_hz: float
    count: BarCount
    inner_mm: float
    outer_mm: float

    @property
    def is_exact(self) -> bool:
        """Whether it stands still at the nominal speed itself."""
        return abs(self.count.off_percent) < _SAME_PERCENT

    def label(self, numbers: Numbers) -> str:
        """Say speed, lamp, bars, and what it stands at where that is another speed."""
        words = self.short_label(numbers)
        if self.is_exact:
            return words
        off = numbers.signed_unit(self.count.off_percent, "%", _decimals(self.count.off_percent))
        stands_at = Name(numbers.plain(self.count.stands_at_rpm, 3))
        return numbers.text(
            message("paper.strobe_disc.stands_at", ring=Name(words), speed=stands_at, off=Name(off))
        )

    def short_label(self, numbers: Numbers) -> str:
        """Say speed, lamp and bars."""
        return numbers.text(
            message(
                "paper.strobe_disc.ring",
                speed=Name(speed_words(self.speed_rpm, numbers)),
                flashes=Name(numbers.short(self.flashes_hz)),
                bars=self.count.bars,
            )
        )


def speed_words(rpm: float, numbers: Numbers) -> str:
    """Write a speed as records do: 33⅓, 16⅔, 45, 78.26."""
    for third, sign in ((1, "⅓"), (2, "⅔")):
        whole = math.floor(rpm)
        if abs(rpm - whole - third / 3.0) < 0.0005:
            return f"{whole}{sign}"
    return numbers.short(rpm)


def _decimals(percent: float) -> int:
    return 2 if abs(percent) >= 0.005 else 3


def rings_for(
    speeds_rpm: Sequence[float], flashes_hz: Sequence[float], numbers: Numbers | None = None
) -> tuple[Ring, ...]:
    """Return the rings for every nominal speed under every lamp, most bars outermost.

    A lamp is given by its flashes per second: twice the frequency of the mains it hangs on.

    Raises
    ------
    PaperProblem
        If a lamp does not flash, a speed is none, or a ring would have too few bars or bars too
        fine to print.
    """
    say = numbers or Numbers()
    for flashes in flashes_hz:
        if not (math.isfinite(flashes) and flashes > 0.0):
            raise PaperProblem(
                message(
                    "paper.strobe_disc.a_lamp_with_flashes_per_second",
                    flashes=Name(say.short(flashes)),
                ),
                message("paper.strobe_disc.give_the_flashes_per_second_for"),
            )
    for speed in speeds_rpm:
        if not (math.isfinite(speed) and speed > 0.0):
            raise PaperProblem(
                message("paper.strobe_disc.rpm_is_no_speed_of_a", speed=Name(say.short(speed))),
                message("paper.strobe_disc.give_speeds_such_as_and"),
            )
    pairs = [(speed, flashes) for flashes in flashes_hz for speed in speeds_rpm]
    pairs = list(dict.fromkeys(pairs))
    if not pairs:
        raise PaperProblem(
            message("paper.strobe_disc.no_speed_or_no_lamp_was"),
            message("paper.strobe_disc.give_at_least_one_of_each"),
        )
    pitch = (OUTER_MM - _INNER_MM) / len(pairs)
    if pitch < _LABEL_MM + _NARROWEST_MM:
        most = int((OUTER_MM - _INNER_MM) // (_LABEL_MM + _NARROWEST_MM))
        raise PaperProblem(
            message("paper.strobe_disc.rings_do_not_fit_one_disc", pairs=len(pairs), most=most),
            message("paper.strobe_disc.print_a_disc_for_each_lamp"),
        )
    width = min(pitch - _LABEL_MM, _WIDEST_MM)
    counted = [(speed, flashes, nearest_bars(speed, flashes)) for speed, flashes in pairs]
    counted.sort(key=lambda ring: -ring[2].bars)
    rings: list[Ring] = []
    for index, (speed, flashes, count) in enumerate(counted):
        outer = OUTER_MM - index * (width + _LABEL_MM)
        ring = Ring(speed, flashes, count, outer - width, outer)
        _printable_or_told(ring, say)
        rings.append(ring)
    return tuple(rings)


def _printable_or_told(ring: Ring, say: Numbers) -> None:
    bars = ring.count.bars
    speed, flashes = Name(speed_words(ring.speed_rpm, say)), Name(say.short(ring.flashes_hz))
    if bars < _FEWEST_BARS:
        raise PaperProblem(
            message("paper.strobe_disc.too_few", speed=speed, flashes=flashes, bars=bars),
            message("paper.strobe_disc.use_a_lamp_that_flashes_faster"),
        )
    if 2.0 * math.pi * ring.inner_mm / bars < _FINEST_PITCH_MM:
        raise PaperProblem(
            message("paper.strobe_disc.too_fine", speed=speed, flashes=flashes, bars=bars),
            message("paper.strobe_disc.use_a_lamp_that_flashes_slower"),
        )


def bars_of(ring: Ring) -> tuple[Mark, ...]:
    """Draw a ring's bars about (0, 0); the first begins at the y axis."""
    turn = 360.0 / ring.count.bars
    return tuple(
        Sector(0.0, 0.0, ring.inner_mm, ring.outer_mm, 90.0 + k * turn, turn / 2.0)
        for k in range(ring.count.bars)
    )


def disc_sheet(
    deck: Deck,
    size: PaperSize = PaperSize.A4,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    *,
    flashes_hz: Sequence[float] = (),
    speeds_rpm: Sequence[float] = (),
) -> Sheet:
    """Return the disc for a deck: for its speeds and its bench kit's lamp unless others are given.

    Raises
    ------
    PaperProblem
        As :func:`rings_for`.
    """
    say = numbers or Numbers()
    rings = rings_for(
        tuple(speeds_rpm) or deck.platter.speeds_rpm,
        tuple(flashes_hz) or (deck.bench.lamp_flashes_per_s,),
        say,
    )
    area = printable(size)
    marks: list[Mark] = [*spindle_marks(), Circle(0.0, 0.0, OUTER_MM + 3.0, HAIR)]
    for ring in rings:
        marks += bars_of(ring)
        marks += _ring_label(ring, say, measure)
    x, y = area.right - OUTER_MM - 3.5, area.top - OUTER_MM - 3.5
    placed = list(shifted(marks, x, y))
    placed += _words(deck, rings, size, say, measure, y - OUTER_MM - 6.0)
    placed += check_line_along(area.left + 4.0, area.top - 154.0, say)
    placed += check_line_across(area.left + 22.0, area.bottom + 3.0, say)
    return Sheet(
        title=say.text(message("paper.strobe_disc.strobe_disc")),
        summary=say.text(
            message(
                "paper.strobe_disc.summary",
                deck=Name(deck.name),
                rings=Name("; ".join(ring.label(say) for ring in rings)),
            )
        ),
        size=size,
        marks=tuple(placed),
        check=CHECK_LINES,
    )


def _ring_label(ring: Ring, say: Numbers, measure: Measure) -> list[Mark]:
    """Set a ring's label inside its bars; shorter where the circle is too small for all of it."""
    radius, size = ring.inner_mm - 3.7, 2.9
    label = ring.label(say)
    for text in (label, ring.short_label(say), f"{ring.count.bars}"):
        if measure(text, size) < 0.85 * 2.0 * math.pi * radius:
            return [RingWords(0.0, 0.0, radius, 90.0, text, size)]
    return []


def _words(
    deck: Deck,
    rings: Sequence[Ring],
    size: PaperSize,
    say: Numbers,
    measure: Measure,
    top_mm: float,
) -> list[Mark]:
    area = printable(size)
    gap = 6.0
    width = (area.width - gap) / 2.0
    left = TextColumn(area.left, top_mm, width, measure, 2.7)
    left.say(say.text(message("paper.strobe_disc.strobe_disc")), size_mm=5.0, bold=True)
    left.say(say.text(message("paper.strobe_disc.deck", deck=Name(deck.name))), bold=True)
    left.skip(0.6)
    for ring in rings:
        left.say(f"{ring.label(say)}.")
    left.skip(0.6)
    if not all(ring.is_exact for ring in rings):
        left.say(say.text(message("paper.strobe_disc.where_a_ring_says_stands_at")))
    left.say(say.text(message("paper.strobe_disc.lay_it_on_the_platter_under")))
    right = TextColumn(area.left + width + gap, top_mm - 1.5, width, measure, 2.7)
    known = cautions(say.language)
    for key in CAUTIONS:
        caution = known[key]
        right.say(f"{caution.title}.", bold=True)
        right.say(caution.text)
    right.skip(0.6)
    right.say(print_advice(say), bold=True)
    floor = area.bottom + 8.0
    lowest = min(left.y, right.y)
    if lowest < floor:
        raise PaperProblem(
            message(
                "paper.strobe_disc.the_words_for_rings_do_not",
                rings=len(rings),
                size=Name(size.label),
            ),
            message("paper.strobe_disc.print_a_disc_for_each_lamp_2"),
        )
    line = Line(area.left, top_mm + 1.0, area.right, top_mm + 1.0, FINE)
    return [line, *left.marks, *right.marks]


__all__ = ["CAUTIONS", "OUTER_MM", "Ring", "bars_of", "disc_sheet", "rings_for"]
