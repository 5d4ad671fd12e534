"""The resonance measured from a test record, beside the one predicted from compliance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from core.estimation import COVERAGE_FACTOR
from core.fitting import Control, Figure, Trial
from core.language import Message, Quantity, message
from core.physics.resonance import AIM_HZ, GOOD_HIGH_HZ, GOOD_LOW_HZ
from core.steps.mount.readings import ResonanceByRecord, Sweep


@dataclass(frozen=True, slots=True)
class ResonancesHeard:
    """Figures and notes of the last sweep in each direction since the mass was changed."""

    figures: tuple[Figure, ...]
    notes: tuple[Message, ...]


def resonances_heard(trials: Sequence[Trial], foretold: Sequence[Figure]) -> ResonancesHeard:
    """Return figures and notes from sweeps of the cartridge as mounted now."""
    last: dict[Sweep, ResonanceByRecord] = {}
    for trial in trials:
        if any(part.control is Control.CARTRIDGE for part in trial.moves):
            last.clear()
        if isinstance(trial.reading, ResonanceByRecord):
            last[trial.reading.sweep] = trial.reading
    said = next((figure for figure in foretold if figure.key == "resonance"), None)
    figures, notes = [], []
    for sweep, one in sorted(last.items()):
        told = one.recorded
        heard = Quantity(told.hz, "Hz", 1)
        figures.append(
            Figure(
                f"resonance_{sweep.value}",
                message("mount.figure.resonance_heard", sweep=sweep.value),
                told.hz,
                "Hz",
                decimals=1,
                half_width=COVERAGE_FACTOR * told.spread_hz,
                target=AIM_HZ,
                tolerance=(GOOD_HIGH_HZ - GOOD_LOW_HZ) / 2,
                note=message("mount.figure.advice_only"),
            )
        )
        if told.is_at_end:
            notes.append(message("mount.note.resonance_at_end", heard=heard))
        elif said is None:
            notes.append(message("mount.note.resonance_heard", heard=heard))
        else:
            then = Quantity(said.value, "Hz", 1)
            notes.append(message("mount.note.resonance_beside", heard=heard, foretold=then))
    return ResonancesHeard(tuple(figures), tuple(notes))
