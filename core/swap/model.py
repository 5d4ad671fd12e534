"""The plan for another cartridge, and its results."""

from __future__ import annotations

from dataclasses import dataclass

from core.fitting import ChoiceMade, Figure, Gain, Planned, Start
from core.language import Message, StepTitle, Value
from core.records import Cartridge, Deck
from core.steps.shared.swap_part import Need, Past, RunsOut


@dataclass(frozen=True, slots=True)
class Was:
    """One setting of the old cartridge."""

    step: str
    label: Message | StepTitle
    value: Value


@dataclass(frozen=True, slots=True)
class DueStep:
    """What one step asks for, and why."""

    step: str
    need: Need
    reason: Message | None
    is_out: bool = False
    """Whether it was left outside its tolerance, which another cartridge does not change."""


@dataclass(frozen=True, slots=True)
class SwapPlan:
    """What to expect of another cartridge on this deck, before a screw is touched.

    Parameters
    ----------
    deck, old_cartridge, new_cartridge
        What it is about.
    from_fitting
        Id of the fitting whose settings the deck has now.
    was
        What was set with the old cartridge.
    starts
        Where each control should start with the new one, and what its step should then read.
    runs_out
        Controls that end before that.
    resonance, resonance_words
        The new resonance, None if it can't be foretold, and a sentence on it either way.
    due
        For each of the nine steps, in order, what it asks for.
    gains
        What the deck's own history says its controls do.
    choices
        What was chosen with the old cartridge and goes on: the alignment, the record.
    back_to
        The fitting whose settings are gone back to; None for a cartridge new to the deck.
    cannot_fit
        A sentence if the cartridge can't be fitted to this deck at all; empty if it can.
    warnings
        Whole sentences: what was assumed, what is not known, what to look at first.
    taught
        Whole sentences: what the errors of earlier plans for this deck taught of this one.
    """

    deck: Deck
    old_cartridge: Cartridge
    new_cartridge: Cartridge
    from_fitting: str
    was: tuple[Was, ...] = ()
    starts: tuple[Start, ...] = ()
    runs_out: tuple[RunsOut, ...] = ()
    resonance: Figure | None = None
    resonance_words: Message | None = None
    due: tuple[DueStep, ...] = ()
    gains: tuple[Gain, ...] = ()
    choices: tuple[ChoiceMade, ...] = ()
    back_to: Past | None = None
    cannot_fit: Message | None = None
    warnings: tuple[Message, ...] = ()
    taught: tuple[Message, ...] = ()

    def planned(self) -> Planned:
        """Return the part of the plan that the new fitting's log keeps."""
        return Planned(
            from_fitting=self.from_fitting,
            settings_of=self.back_to.fitting.id if self.back_to else "",
            starts=self.starts,
            gains=self.gains,
            choices=self.choices,
        )


@dataclass(frozen=True, slots=True)
class Foretold:
    """One prediction of a plan, and the finding.

    ``found`` is None until a reading; ``error`` is found less predicted.
    """

    step: str
    key: str
    label: Message | StepTitle
    predicted: float
    half_width: float | None
    found: float | None
    found_half_width: float | None
    error: float | None
    unit: str
    decimals: int
    sentence: Message
    ways: tuple[Message, Message] | None = None
    """The direction of a positive value, and of a negative one; as for a figure."""
