"""Figures of a recorded tone beside the mean: fluctuation, and the record's part in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Self

from core.fitting import Context, Figure, MorePicture
from core.language import Message, Quantity, message
from core.physics.groove_radii import GROOVES_1958
from core.records import Deck
from core.steps.speed.readings import speed_name
from core.steps.speed.tone import CLOCK_SHARE, Tone
from core.steps.speed.tone_pictures import tone_pictures

_CUT_PERCENT: Final = 0.5
"""Tolerance of a record's tone. Source: IEC 60098, second-hand."""

_SHARE: Final = 0.03
_LEAST_PERCENT: Final = 0.002
"""Accuracy of the fluctuation: 3 % or 0.002 %, whichever is more (held by the tests)."""


@dataclass(frozen=True, slots=True)
class ToneTold:
    """The last valid recording of a tone."""

    tone: Tone
    rpm: float
    cut_percent: float
    deck: Deck

    @classmethod
    def of(cls, context: Context) -> Self | None:
        """Return the last recording; None if there is none."""
        for trial in reversed(context.trials):
            tone = trial.reading
            if isinstance(tone, Tone) and tone.recorded.speed is not None:
                rpm = tone.speed_rpm or context.deck.platter.speeds_rpm[0]
                return cls(tone, rpm, tone.cut_percent(context.deck), context.deck)
        return None

    def figures(self) -> tuple[Figure, ...]:
        """Return the fluctuation, with and without the once-per-turn part, and its meaning."""
        return tuple(self._figures())

    def pictures(self) -> tuple[MorePicture, ...]:
        """Return turn, spectrum and drift, as far as their data were kept."""
        told = self.tone.recorded.speed
        return tuple(tone_pictures(told, self.deck, self.rpm)) if told is not None else ()

    def _figures(self) -> Iterator[Figure]:
        told = self.tone.recorded.speed
        if told is None:
            return
        weighted = message("speed.figure.weighted", speed=speed_name(self.rpm))
        steady = message("speed.figure.steady", speed=speed_name(self.rpm))
        unweighted = message("speed.figure.unweighted", speed=speed_name(self.rpm))
        rest = message("speed.figure.steady_unweighted", speed=speed_name(self.rpm))
        turn = message("speed.figure.once_per_turn", speed=speed_name(self.rpm))
        for key, label, value in (
            ("fluctuation", weighted, told.weighted_percent),
            ("fluctuation_steady", steady, told.steady_weighted_percent),
            ("fluctuation_unweighted", unweighted, told.unweighted_percent),
            ("fluctuation_steady_unweighted", rest, told.steady_unweighted_percent),
            ("once_per_turn", turn, told.once_per_turn_percent),
        ):
            if value is not None:
                half = max(_SHARE * value, _LEAST_PERCENT)
                yield Figure(key, label, value, "%", decimals=3, half_width=half)
        if told.once_per_turn_percent is not None and self.tone.radius_mm is not None:
            off = self.tone.radius_mm * told.once_per_turn_percent / 100.0
            half = max(_SHARE * off, self.tone.radius_mm * _LEAST_PERCENT / 100.0)
            yield Figure("off_centre", message("speed.figure.off_centre"), off, "mm", 2, half)
        if told.drift_s:
            drift = message("speed.figure.drift", speed=speed_name(self.rpm))
            yield Figure(
                *("drift", drift, told.drift_percent, "%"),
                decimals=3,
                half_width=_LEAST_PERCENT,
                ways=(message("speed.off.faster"), message("speed.off.slower")),
            )

    def notes(self) -> tuple[Message, ...]:
        """Return the definition of the figures, the accuracy of the mean, and the faults."""
        return tuple(self._notes())

    def _notes(self) -> Iterator[Message]:
        told = self.tone.recorded.speed
        if told is None:
            return
        cut, clock = Quantity(self.cut_percent, "%"), Quantity(100.0 * CLOCK_SHARE, "%")
        allowed = Quantity(_CUT_PERCENT, "%", 1)
        yield message("speed.note.mean_of_tone", cut=cut, allowed=allowed, clock=clock)
        if told.weighted_percent is None:
            yield message("speed.note.tone_too_short")
        else:
            yield message("speed.note.fluctuation")
        turn = told.once_per_turn_percent
        if turn is not None and self.tone.radius_mm is None:
            yield message(
                "speed.note.hole",
                inner=Quantity(GROOVES_1958.inner_mm * turn / 100.0, "mm"),
                inner_radius=Quantity(GROOVES_1958.inner_mm, "mm", 0),
                outer=Quantity(GROOVES_1958.outer_mm * turn / 100.0, "mm"),
                outer_radius=Quantity(GROOVES_1958.outer_mm, "mm", 0),
            )
        elif turn is not None:
            yield message("speed.note.hole_is_the_record")
        recorded = self.tone.recorded
        yield from (recorded.said_of(one) for one in recorded.known_faults())
