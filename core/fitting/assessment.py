"""A step's answer: verdict, headline, next move, figures, cautions, picture."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Final

from pydantic import BaseModel, ConfigDict, Field

from core.language import Message
from core.records import Choice

if TYPE_CHECKING:
    from core.drawing.chart import Picture  # imports numpy, which a list of fittings does not need


class Verdict(Choice):
    """The six verdicts, and the absence of one."""

    NO_READING = "no reading", "No reading yet"
    GOOD = "good", "Good"
    MOVE = "move", "Move"
    READ_AGAIN = "read again", "Another reading"
    LEFT_AS_FOUND = "left as found", "Left as found"
    NOTHING_TO_SET = "nothing to set", "Nothing to set"
    STOP = "stop", "Stop"

    @property
    def passes(self) -> bool:
        """Whether a step with this verdict may be accepted without an override."""
        return self in (Verdict.GOOD, Verdict.LEFT_AS_FOUND, Verdict.NOTHING_TO_SET)


class QualifiedPass(Choice):
    """What is shown for a verdict or state that passes with a reservation."""

    GOOD = "good outside target", "Acceptable, outside target"
    LEFT_AS_FOUND = "left outside target", "Left outside target"
    LEFT_AS_SET = "left as set", "Left as set"
    NOTHING_TO_SET = "nothing to set outside target", "Nothing to set, outside target"
    DONE = "done outside target", "Done, outside target"
    GOOD_ON_TRUST = "good on trust", "Good, on trust"
    DONE_ON_TRUST = "done on trust", "Done, on trust"


class Control(Choice):
    """Everything a hand can turn, slide or place. The label states the positive direction."""

    FOOT = "foot", "Foot, longer (up)"
    FOOT_SHIM = "foot shim", "Shim under the foot, thicker"
    CARTRIDGE = "cartridge", "Cartridge or headshell, exchanged"
    COUNTERWEIGHT = "counterweight", "Counterweight, toward the pivot"
    PILLAR = "pillar", "Arm pillar, up"
    BASE_SHIM = "base shim", "Shim under the arm base, thicker"
    HEAD_SHIM = "head shim", "Shim between head and cartridge, thicker"
    SLIDE = "slide", "Cartridge, away from the pivot"
    TWIST = "twist", "Cartridge, turned in toward the spindle"
    ARM_BASE = "arm base", "Arm base, away from the spindle"
    TILT = "tilt", "Head, left side rises, seen from the front"
    TILT_SHIM = "tilt shim", "Shim under the left screw, thicker"
    SKATING = "skating", "Skating compensation, more"
    SPEED = "speed", "Speed trim, clockwise or up"
    SCREWS = "screws", "Cartridge screws, tightened"
    RECORD = "record", "Record thickness under the stylus, thicker"


WITHOUT_AMOUNT: Final = (Control.SCREWS, Control.CARTRIDGE)
"""Controls that are used or not, without an amount."""


class MovePart(BaseModel):
    """One control and how far.

    ``amount`` is signed along the positive direction of the control; ``unit`` is a symbol of
    :data:`core.records.quantities.UNITS`; ``where`` distinguishes controls of one kind (the foot's
    name).
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    control: Control
    amount: float
    unit: Annotated[str, Field(max_length=40)]
    where: Annotated[str, Field(max_length=40)] = ""
    equivalent_mm: float | None = None
    """The same part in millimetres, where the amount is in turns and the pitch is known."""

    def turned_round(self) -> MovePart:
        """Return the same part with the opposite direction."""
        also = None if self.equivalent_mm is None else -self.equivalent_mm
        return self.model_copy(update={"amount": -self.amount, "equivalent_mm": also})


@dataclass(frozen=True, slots=True)
class Move:
    """What to do next: the order, and the parts that a person confirms once done.

    ``sentence`` is an order to a person ("Raise the pillar by 4.0 mm"); ``predicted`` says what the
    next reading should be, worded to follow a colon; ``parts`` are what the log keeps once it is
    done.
    """

    sentence: Message
    parts: tuple[MovePart, ...]
    predicted: Message | None = None
    reason: Message | None = None
    in_headline: bool = False
    """Whether the headline gives the same order, with more beside it."""
    rest: Message | None = None
    """The rest of an order that begins with the headline."""


@dataclass(frozen=True, slots=True)
class NextReading:
    """What a step asks to be read next.

    ``way`` is the way of reading asked for, empty where any of the step's ways will do; ``values``
    are the fields of the reading that are asked for (a direction, a speed, which end); ``count`` is
    how many such readings should settle it, None if that can't be predicted. ``longer`` asks for a
    longer or finer reading than the last, ``at_another_setting`` for one with the control elsewhere
    than at any reading so far. ``instead``: the way that was read by can tell no more.
    """

    way: str = ""
    values: Mapping[str, object] = field(default_factory=dict, hash=False)
    count: int | None = 1
    longer: bool = False
    at_another_setting: bool = False
    instead: bool = False
    why: Message | None = None


@dataclass(frozen=True, slots=True)
class Pair:
    """One answer to the question whether two figures changed places.

    ``entries`` are the readings in which both ``fields`` did; without fields it is the reading
    that is right as typed. ``said`` is the answer in words.
    """

    entries: tuple[str, ...]
    fields: tuple[str, ...]
    said: Message


@dataclass(frozen=True, slots=True)
class Question:
    """One check to make before a control is moved again; ``where`` distinguishes similar ones.

    With ``entry`` it asks which way the control was moved: that entry of the log says ``moved``,
    but the reading after it implies the opposite. With ``pairs`` it asks in which reading two
    figures changed places; they are the answers to choose from.
    """

    control: Control
    text: Message
    where: str = ""
    entry: str = ""
    moved: tuple[MovePart, ...] = ()
    pairs: tuple[Pair, ...] = ()


class Act(Choice):
    """What the hands do while a caution applies."""

    READ = "read", "Reading"
    MOVE = "move", "Moving a control"
    LOWER_STYLUS = "lower stylus", "Lowering the stylus"
    HANDLE_HEAD = "handle head", "Hands at the head"


@dataclass(frozen=True, slots=True)
class Guard:
    """A caution of resources/cautions.toml and the act it guards."""

    caution: str
    act: Act


KEEP_STYLUS_UP: Final = Guard("stylus_up", Act.LOWER_STYLUS)


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of an assessment, with what it is compared to.

    ``key`` says what it is a figure of, ``subject`` which one of several (the nominal speed, the
    name of a foot, a side), empty where there is but one. ``half_width`` is half the 95 % interval
    in the same unit; None where it has no error. ``ways`` name the direction in words for values
    above and below zero; ``value`` keeps the sign, the text shows none.
    """

    key: str
    label: Message
    value: float
    unit: str
    decimals: int = 2
    half_width: float | None = None
    target: float | None = None
    tolerance: float | None = None
    note: Message | None = None
    subject: str = ""
    ways: tuple[Message, Message] | None = None

    @property
    def deviation(self) -> float | None:
        """Value less target, or None without a target."""
        return None if self.target is None else self.value - self.target

    @property
    def is_outside(self) -> bool:
        """Whether its deviation exceeds its tolerance."""
        if self.deviation is None or self.tolerance is None:
            return False
        return abs(self.deviation) > self.tolerance * (1.0 + 1e-9)

    @property
    def is_coarse(self) -> bool:
        """Whether it is known less well than its tolerance requires."""
        return (
            self.target is not None
            and self.tolerance is not None
            and self.half_width is not None
            and self.half_width > self.tolerance
        )


@dataclass(frozen=True, slots=True)
class MorePicture:
    """A further picture of a step, drawn when it is opened; ``name`` is a word or two."""

    name: Message
    draw: Callable[[], Picture]


@dataclass(frozen=True, slots=True)
class Assessment:
    """A step's answer to its readings so far.

    Parameters
    ----------
    verdict, headline
        The verdict and one sentence that says it for this case, legible from two metres.
    drawing
        The picture, or a function that draws it when it is shown (:attr:`picture`): nine steps are
        judged, one is shown. It adds nothing to the other fields, so comparisons ignore it.
    next_move
        What to do, when the verdict is MOVE or STOP; also for LEFT_AS_FOUND when something
        outside the deck's own controls would help.
    figures
        Numbers with units; the ones with target and tolerance can be disturbed by later moves.
    notes
        Further sentences: how sure, what was assumed, what to look at, what would help.
    cautions
        Those that apply to this case, each with the act it guards.
    method
        How the figures were read, a few words for the record ("bubble level, both ways").
    next_reading
        What to read next; None for nothing.
    questions
        What to check before anything else, because a move had no effect or went the other way; all
        about one control. The answer is kept as a :class:`core.fitting.context.ControlChecked`.
    asked_because
        Why the questions are asked, and how far the control was moved in all.
    more_pictures
        Further pictures to choose from; like ``drawing``, ignored in comparisons.
    foretells
        Whether the figures are predictions after a move, not readings.
    unread
        What nobody read in the step although its verdict passes; shown with the verdict everywhere.
    on_trust
        Whether it is good only by an unchecked instrument; ``next_reading`` is the check.
    was_set
        Whether something was set in this fitting; then the step is left as set, not as found.
    """

    verdict: Verdict
    headline: Message
    drawing: Picture | Callable[[], Picture] = field(compare=False, repr=False)
    next_move: Move | None = None
    figures: tuple[Figure, ...] = ()
    notes: tuple[Message, ...] = ()
    cautions: tuple[Guard, ...] = ()
    method: Message | None = None
    next_reading: NextReading | None = None
    questions: tuple[Question, ...] = ()
    asked_because: tuple[Message, ...] = ()
    on_trust: bool = False
    unread: tuple[Message, ...] = ()
    foretells: bool = False
    was_set: bool = False
    more_pictures: tuple[MorePicture, ...] = field(default=(), compare=False, repr=False)

    @property
    def picture(self) -> Picture:
        """The picture; drawn again at each access."""
        return self.drawing() if callable(self.drawing) else self.drawing

    def stopped(self, why: Message) -> Assessment:
        """Return the stop for a number that is being typed, and refused; ``why`` says it."""
        return Assessment(
            Verdict.STOP,
            why,
            self.drawing,
            figures=self.figures,
            cautions=(KEEP_STYLUS_UP,),
            method=self.method,
            foretells=self.foretells,
            was_set=self.was_set,
        )

    @property
    def caution_keys(self) -> tuple[str, ...]:
        """The keys, in resources/cautions.toml, of the cautions that apply, each once."""
        return tuple(dict.fromkeys(one.caution for one in self.cautions))

    @property
    def outside(self) -> tuple[Figure, ...]:
        """The figures outside their own tolerance although the verdict passes."""
        if not self.verdict.passes:
            return ()
        return tuple(figure for figure in self.figures if figure.is_outside)

    @property
    def shown_verdict(self) -> Verdict | QualifiedPass:
        """The verdict shown on screen and paper; a pass with a figure outside is qualified."""
        if self.on_trust and not self.outside:
            return QualifiedPass.GOOD_ON_TRUST
        if self.verdict is Verdict.LEFT_AS_FOUND and self.was_set and not self.outside:
            return QualifiedPass.LEFT_AS_SET
        return QualifiedPass[self.verdict.name] if self.outside else self.verdict

    def figure(self, key: str) -> Figure | None:
        """Return the figure with this key, or None."""
        return next((figure for figure in self.figures if figure.key == key), None)


@dataclass(frozen=True, slots=True)
class Applicability:
    """Whether a step has something to read and something to set on this deck.

    ``ways`` are the names of the suitable ways of reading, the usual one first. If ``reads`` is
    False the step is 'nothing to set', with the reason; if ``adjusts`` is False a reading is still
    worth taking, and one outside is 'left as found', with the reason.
    """

    reads: bool
    adjusts: bool
    ways: tuple[str, ...] = ()
    reason: Message | None = None


Found = Mapping[str, Assessment]
