"""The base of every way of reading, and the context that a step is judged by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, ClassVar, Literal, get_args

from core.fitting.assessment import Assessment, Control, Found, MovePart
from core.fitting.log import CHECKED_WAY, Gain
from core.records import BenchKit, Cartridge, Deck, FrozenModel, Unit


class Reading(FrozenModel):
    """One way of reading: each variant is a subclass with its own ``way``.

    ``way`` is the stored name and the discriminator of the step's ``Readings``; ``WAY_TITLE`` is
    what a person picks in the form; ``LOWERS_STYLUS`` marks ways for which the stylus touches
    something, so that the stylus gate can refuse them; ``TELLS_DOWNFORCE`` marks those that open
    it. ``COMES_WHEN_ASKED``: its form opens by itself as soon as a step asks for it. ``SETS``:
    reading it sets the value, so it is never what was found. ``CONFIRMS``: its ticks confirm
    acts of the work, so that one whose turn has not come yet is no answer. ``NEEDS`` is the field
    of the bench kit that says whether the instrument is there; empty if none is needed beyond what
    any home has.
    """

    WAY_TITLE: ClassVar[str]
    LOWERS_STYLUS: ClassVar[bool] = False
    TELLS_DOWNFORCE: ClassVar[bool] = False
    COMES_WHEN_ASKED: ClassVar[bool] = False
    SETS: ClassVar[bool] = False
    CONFIRMS: ClassVar[bool] = False
    NEEDS: ClassVar[str] = ""

    way: Any

    @classmethod
    def suits(cls, deck: Deck, cartridge: Cartridge) -> bool:  # noqa: ARG003  # for subclasses
        """Whether this way is offered for a deck and a cartridge."""
        return True

    @classmethod
    def units_on(cls, deck: Deck) -> Mapping[str, Unit]:  # noqa: ARG003  # for subclasses
        """Return the units of fields that depend on the deck, by their names."""
        return {}

    def as_pattern(self) -> Reading:
        """Return the initial values of the form for the next reading of this way."""
        return self

    def as_kept(self) -> Reading:
        """Return the form of the reading that the log keeps."""
        return self

    def as_said(self) -> Reading:
        """Return the form of a kept reading by which the record names it."""
        return self

    @classmethod
    def is_at_hand(cls, bench: BenchKit) -> bool:
        """Whether its instrument is there."""
        return not cls.NEEDS or bool(getattr(bench, cls.NEEDS))


class ControlChecked(Reading):
    """The person answered a step's questions: the control moves as it was entered.

    It is kept as a way of reading that every step has and no form offers. With ``reversed_entry``
    the answer is that the move of that entry was made the opposite way, and it counts so
    (:meth:`core.fitting.log.Fitting.counting`). With ``exchanged`` it is that two ``fields`` of
    these readings were typed into each other's place, and they count exchanged. ``as_read`` is a
    reading that is right as typed, although it contradicts the move before it.
    """

    WAY_TITLE: ClassVar[str] = "Control checked"

    way: Literal["control checked"] = CHECKED_WAY
    control: Control
    where: str = ""
    reversed_entry: str = ""
    exchanged: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()
    as_read: str = ""


def reading_classes(readings: Any) -> dict[str, type[Reading]]:
    """Return the classes of a step's ``Readings`` by name of way, in order."""
    union = (get_args(readings) or (readings,))[0]
    classes = get_args(union) or (union,)
    return {get_args(one.model_fields["way"].annotation)[0]: one for one in classes}


def ways_for(readings: Any, deck: Deck, cartridge: Cartridge) -> tuple[str, ...]:
    """Return the names of the ways offered for a deck and a cartridge, the usual one first.

    Ways without their instrument come last.
    """
    found = {k: one for k, one in reading_classes(readings).items() if one.suits(deck, cartridge)}
    return tuple(sorted(found, key=lambda way: not found[way].is_at_hand(deck.bench)))


class Choices(FrozenModel):
    """A person's choices for a step apart from readings; each step's subclass adds fields.

    Every field has a default.
    """


@dataclass(frozen=True, slots=True)
class Trial:
    """One event in a step: a reading, a move, or answered questions.

    A draft, a reading still being typed, is a trial without an entry id.
    """

    entry_id: str = ""
    at: datetime | None = None
    who: str = ""
    reading: Reading | None = None
    moves: tuple[MovePart, ...] = ()
    checked: ControlChecked | None = None
    chosen: Choices | None = None
    """The choices for the step when the reading was taken; None if they are still the same."""
    put_right: bool = False
    """Whether the person was asked about the move, and said that it went the other way."""

    @property
    def sets(self) -> bool:
        """Whether a hand changed something: a move, or a reading that sets what it reads."""
        return bool(self.moves) or (self.reading is not None and self.reading.SETS)


@dataclass(frozen=True, slots=True)
class Context:
    """Everything a step may be judged by.

    Parameters
    ----------
    step
        The step being judged.
    deck, cartridge
        The revisions the fitting works with.
    log
        For every step the trials that count, in order.
    chosen
        For every step what was chosen; steps with nothing chosen have their defaults.
    found
        Assessments of the steps before this one.
    gains
        What the deck's controls did in its earlier fittings, known when this one was begun.
    """

    step: str
    deck: Deck
    cartridge: Cartridge
    log: Mapping[str, tuple[Trial, ...]] = field(default_factory=dict)
    chosen: Mapping[str, Choices] = field(default_factory=dict)
    found: Found = field(default_factory=dict)
    gains: tuple[Gain, ...] = ()

    @property
    def trials(self) -> tuple[Trial, ...]:
        """The step's own trials in order."""
        return self.log.get(self.step, ())

    def with_draft(self, reading: Reading) -> Context:
        """Return the same context with one more, unsaved reading."""
        trials = (*self.trials, Trial(reading=reading))
        return replace(self, log={**self.log, self.step: trials})

    def figure(self, step: str, key: str) -> float | None:
        """Return a figure of an earlier step, or None."""
        assessment: Assessment | None = self.found.get(step)
        figure = assessment.figure(key) if assessment else None
        return figure.value if figure else None
