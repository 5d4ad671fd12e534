"""A step's own trials, with the moves of other steps between them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from core.fitting import Context, Control, MovePart, Trial
from core.records import Cartridge, Deck
from core.steps.shared.disturbance import (
    Effect,
    FigureChange,
    beside_strip,
    strip_after,
    together,
)


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """One part of a move made in another step that disturbs this one."""

    part: MovePart
    effects: tuple[Effect, ...]

    @property
    def exchanged(self) -> bool:
        """Whether cartridge or headshell was exchanged, so that no earlier reading counts."""
        return self.part.control is Control.CARTRIDGE

    def change(self, key: str) -> FigureChange | None:
        """Return the change of one figure, None if unpredictable; 0 if untouched."""
        return together(effect for effect in self.effects if effect.key == key)


Event = Trial | Elsewhere

DisturbedBy = Callable[[MovePart, Deck, Cartridge], Iterable[Effect]]
"""The effect of a move on the figures of one step."""


def history(context: Context, disturbed_by: DisturbedBy) -> tuple[Event, ...]:
    """Return the step's trials in order, with the moves of other steps between them.

    Only moves with a known time are placed, after at least one trial of this step. Moves after its
    last trial are left out: its readings were true when they were taken.
    """
    own = context.trials
    foreign = tuple(_foreign(context, disturbed_by))
    if not foreign or not own:
        return own
    events: list[Event] = [own[0]]
    since = own[0].at
    for trial in own[1:]:
        until = trial.at
        if since is not None:
            events.extend(e for at, e in foreign if since < at and (until is None or at <= until))
        events.append(trial)
        since = until
    return tuple(events)


def _foreign(context: Context, disturbed_by: DisturbedBy) -> Iterator[tuple[datetime, Elsewhere]]:
    moves = [
        (trial.at, part)
        for step, trials in context.log.items()
        if step != context.step
        for trial in trials
        if trial.at is not None
        for part in trial.moves
    ]
    strip_mm = 0.0
    for at, part in sorted(moves, key=lambda move: move[0]):
        effects = _effects_here(part, strip_mm, context, disturbed_by)
        strip_mm = strip_after(strip_mm, part)
        if effects:
            yield at, Elsewhere(part, effects)


def _effects_here(
    part: MovePart, strip_mm: float, context: Context, disturbed_by: DisturbedBy
) -> tuple[Effect, ...]:
    def effects_of(one: MovePart) -> Iterable[Effect]:
        return disturbed_by(one, context.deck, context.cartridge)

    try:
        return beside_strip(effects_of, part, strip_mm)
    except ValueError:  # an amount that no geometry allows predicts nothing
        return ()
