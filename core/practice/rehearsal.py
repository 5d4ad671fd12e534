"""A rehearsal: a simulated deck that shows its instruments and does as it is told."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from core.fitting import MovePart, Reading
from core.practice.deck_recording import RECORDED, DeckRecording, deck_recording
from core.practice.faults import Difficulty, draw_world
from core.practice.hands import obey
from core.practice.instrument_display import InstrumentDisplay
from core.practice.instruments import INSTRUMENTS
from core.practice.invented_decks import invent, invent_cartridge
from core.practice.own_readings import OwnReading, own_readings
from core.practice.truth import (
    Truth,
    alignment_truth,
    final_truth,
    height_truth,
    level_truth,
    mount_truth,
    rough_truth,
    skating_truth,
    speed_truth,
    tilt_truth,
)
from core.practice.world import World
from core.records import Cartridge, CutRecord, Deck
from core.steps import (
    ALIGNMENT,
    ARM_HEIGHT,
    FINAL_DOWNFORCE,
    LEVEL,
    MOUNT,
    ROUGH_DOWNFORCE,
    SKATING,
    SPEED,
    TILT,
)
from core.steps.speed import speed_key


class Rehearsal:
    """One practice deck. Build it with :func:`new_rehearsal`.

    `deck` and `cartridge` are what the wizard is told; with `seed` and `difficulty` they make the
    same rehearsal again. `misleading` names the steps whose control does otherwise than stated.
    """

    def __init__(
        self, seed: tuple[int, ...], difficulty: Difficulty, deck: Deck, cartridge: Cartridge
    ) -> None:
        self.seed, self.difficulty = seed, difficulty
        self.deck, self.cartridge = deck, cartridge
        faults, looks, hands = np.random.SeedSequence(seed).spawn(3)
        self._looks, self._hands = np.random.default_rng(looks), np.random.default_rng(hands)
        world, lied = draw_world(np.random.default_rng(faults), deck, cartridge, difficulty)
        self._world = world
        self.misleading = lied
        self._last: dict[str, InstrumentDisplay] = {}
        self._speeds: dict[str, None] = {}
        self.own: list[OwnReading] = []
        """What the person read, beside what was really there; in the order of the readings."""

    def ways(self, step: str) -> tuple[str, ...]:
        """Return the ways of reading that have an instrument here."""
        return tuple(way for name, way in INSTRUMENTS if name == step)

    def instrument(self, step: str, way: str, **choices: Any) -> InstrumentDisplay:
        """Read an instrument once; every reading has its own error.

        Parameters
        ----------
        step, way
            A way of reading of a step.
        **choices
            What the person decides, by the names of the reading's own fields: ``direction``,
            ``bearing_deg``, ``turned``, ``length_mm`` (level), ``speed_rpm``, ``seconds``,
            ``turns`` (speed), ``weight_g`` (check weight); ``drawn_pivot_mm`` is the
            pivot-to-spindle distance the protractor was drawn for. Others are ignored.

        Raises
        ------
        ValueError
            When there is no such instrument.
        """
        instrument = INSTRUMENTS.get((step, way))
        if instrument is None:
            raise ValueError(f"The practice bench has nothing that reads '{step}' by '{way}'.")
        if "downforce" in step:
            choices["step"] = step
        shown = instrument(self._world, self._looks, **choices)
        self._last[step] = shown
        if step == SPEED:
            self._speeds[self._world.speed_at(speed_key(shown.values["speed_rpm"]))] = None
        return shown

    def can_record(self, step: str, way: str) -> bool:
        """Return whether a recording of the deck can be made for a way of reading."""
        return (step, way) in RECORDED

    def recording(self, way: str, record: CutRecord | None = None, **choices: Any) -> DeckRecording:
        """Return a recording of the deck as it stands now, to be written; it has its own noise.

        Parameters and errors as for :func:`deck_recording`.
        """
        seed = int(self._looks.integers(1 << 31))
        return deck_recording(self._world, way, record, seed, **choices)

    def note(self, entry_id: str, step: str, reading: Reading, **choices: Any) -> None:
        """Keep a reading that a person took beside the true state of the deck just then.

        Parameters
        ----------
        entry_id, step, reading
            The entry that keeps it, and what was typed.
        **choices
            How the instrument was set up, as for :meth:`instrument`.
        """
        instrument = INSTRUMENTS.get((step, str(reading.way)))
        if "downforce" in step:
            choices["step"] = step
        self.own += own_readings(entry_id, step, reading, instrument, self._world, choices)

    def obey(self, parts: Iterable[MovePart]) -> None:
        """Make a move, as exactly as a hand does."""
        obey(self._world, self._hands, parts)

    def truth_of(self, step: str) -> Truth | None:
        """Return one step's hidden truth, None where there is nothing to be right or wrong.

        It is told in the terms of the way it was last read: tilt by test bands is where the least
        leaks, skating by ear what truly balances.
        """
        world, last = self._world, self._last.get(step)
        by_bands = last is not None and last.way in (
            "test bands",
            "leak by tone",
            "bands by tone",
        )
        spacing = last.values.get("spacing_mm") if last else None
        told: dict[str, Callable[[], Truth | None]] = {
            LEVEL: lambda: level_truth(world),
            MOUNT: lambda: mount_truth(world),
            ROUGH_DOWNFORCE: lambda: rough_truth(world),
            ARM_HEIGHT: lambda: height_truth(world, spacing),
            ALIGNMENT: lambda: alignment_truth(world),
            TILT: lambda: tilt_truth(world, by_bands=by_bands),
            SKATING: lambda: skating_truth(world, by_ear=by_bands),
            FINAL_DOWNFORCE: lambda: final_truth(world),
            SPEED: lambda: speed_truth(world, tuple(self._speeds)),
        }
        return told[step]()

    @property
    def world(self) -> World:
        """The hidden state itself: for tests and for the end page, never for the wizard."""
        return self._world

    @property
    def downforce_gf(self) -> float:
        """The true downforce; below 0 the arm floats."""
        return self._world.downforce_gf


def new_rehearsal(
    seed: int,
    difficulty: Difficulty | str = Difficulty.ORDINARY,
    deck: Deck | None = None,
    cartridge: Cartridge | None = None,
    *,
    number: int = 0,
) -> Rehearsal:
    """Make a practice deck; the same arguments make the same one.

    `deck` and `cartridge` are invented where left out; `number` tells the decks of one seed apart.

    Raises
    ------
    ValueError
        For a negative seed or an unknown difficulty, as a sentence.
    """
    if seed < 0 or number < 0:
        raise ValueError("The seed must be a whole number, 0 or more.")
    try:
        known = Difficulty(difficulty)
    except ValueError:
        names = ", ".join(f"'{one.value}'" for one in Difficulty)
        raise ValueError(f"There is no difficulty '{difficulty}': take one of {names}.") from None
    whole = (seed, number)
    rng = np.random.default_rng(np.random.SeedSequence((*whole, 1)))
    if deck is None:
        invented_deck, invented = invent(rng)
        deck = invented_deck
        cartridge = cartridge or invented
    cartridge = cartridge or invent_cartridge(rng, deck)
    return Rehearsal((*whole, 2), known, deck, cartridge)
