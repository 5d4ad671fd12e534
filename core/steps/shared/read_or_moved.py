"""Whether an amount typed for a move is in fact the figure of a reading.

A move is ordered as soon as it is worth it, while a person may still be typing readings one after
the other. The next input then lands in the field of the move.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import takewhile
from typing import Final

from core.fitting import Assessment, Figure, MovePart, Trial
from core.records import NUMBER, FieldKind, FieldSpec, Unit, fields_of

_AROUND: Final = 0.25
"""The next reading lies within this share of the last one, of the target, or between both."""

_MORE_THAN_ORDERED: Final = 1.5
"""Where readings go down to zero they pass every small amount: only what is so many times the
order, which a hand seldom makes of it, is asked about. Both are our own allowance."""


@dataclass(frozen=True, slots=True)
class MayBeRead:
    """A figure that the next reading may have, without its sign.

    It ranges from ``low`` to ``high``, in ``unit``, for the field ``name`` of the way ``way``.
    """

    way: str
    name: str
    unit: Unit
    low: float
    high: float

    def holds(self, amount: float, ordered: float, unit: str) -> bool:
        """Whether an amount typed for the ordered move may be this figure.

        A figure in the same unit, or in none, may be where the control stands: it goes that far.
        """
        size, order = abs(amount), abs(ordered)
        if self.low == 0.0 and size <= _MORE_THAN_ORDERED * order:
            return False
        further = ordered if self.unit.symbol in ("", unit) else 0.0
        low, high = self.low + min(further, 0.0), self.high + max(further, 0.0)
        return size > 0.0 and low <= size <= high


def may_be_read(trials: tuple[Trial, ...], said: Assessment) -> tuple[MayBeRead, ...]:
    """Return the figures that the next reading of a step may show, latest first.

    Parameters
    ----------
    trials
        The step's trials that count, in order. Readings since the last move tell what is typed.
    said
        What the step says of them: its figures have the targets.
    """
    since = takewhile(lambda one: not one.moves, reversed(trials))
    found: dict[tuple[str, str], MayBeRead] = {}
    for trial in since:
        reading = trial.reading
        if reading is None:
            continue
        for spec in filter(_is_read_anew, fields_of(type(reading))):
            value = getattr(reading, spec.name)
            if value is None or not math.isfinite(value):
                continue
            one = _span(str(reading.way), spec, abs(value), said.figures)
            before = found.get((one.way, one.name))
            if before is not None:  # the same field, read in another direction or once more
                low, high = min(one.low, before.low), max(one.high, before.high)
                one = MayBeRead(one.way, one.name, one.unit, low, high)
            found[one.way, one.name] = one
    return tuple(found.values())


def read_instead(
    amount: float, ordered: MovePart, figures: Iterable[MayBeRead]
) -> MayBeRead | None:
    """Return the figure that an amount typed for a move may be, or None.

    The ordered amount counts as the move: it is the preset value.
    """
    due, unit = ordered.amount, ordered.unit
    if amount == due:
        return None
    return next((one for one in figures if one.holds(amount, due, unit)), None)


def _is_read_anew(spec: FieldSpec) -> bool:
    """Whether a field is a number that changes with every reading."""
    if spec.kind not in (FieldKind.NUMBER, FieldKind.WHOLE):
        return False
    stays = spec.limits is not None and spec.limits.remembered
    return not stays and (spec.required or spec.default == 0.0)


def _span(way: str, spec: FieldSpec, value: float, figures: tuple[Figure, ...]) -> MayBeRead:
    """Return the range of the next value of a figure that is now ``value``."""
    unit = spec.unit or NUMBER
    high = (1.0 + _AROUND) * value
    if spec.directions is not None or spec.read_anew or spec.default == 0.0:  # down to 0
        return MayBeRead(way, spec.name, unit, 0.0, high)
    targets = [abs(target) for target in _targets(unit, figures)]
    low = (1.0 - _AROUND) * min(value, *targets) if targets else (1.0 - _AROUND) * value
    return MayBeRead(way, spec.name, unit, low, (1.0 + _AROUND) * max(value, *targets, 0.0))


def _targets(unit: Unit, figures: tuple[Figure, ...]) -> Iterator[float]:
    """Yield the non-zero targets in the same unit."""
    for figure in figures:
        if figure.target and figure.unit == unit.symbol:
            yield figure.target
