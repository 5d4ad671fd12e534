"""Shared by rough and final downforce: ways of weighing, the scale's error, the log.

Both steps weigh with the same scale and move the same control, so what one has taught serves the
other. The log becomes numbers here: the valid weighings, the moves between them, and the accuracy
of the scale. :mod:`core.steps.downforce.move` turns them into the next move.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from core.estimation import CERTAIN_FACTOR, Estimate, mean_of
from core.fitting import FLOATED_ANEW, Applicability, Context, Control, Reading, Trial, ways_for
from core.language import Message, Quantity, Value, message
from core.physics.floating import floated_downforce_gf
from core.physics.scale import (
    CHECK_WEIGHT_LIMITS_MG,
    ScaleCorrection,
    check_weight_uncertainty_g,
    scale_correction,
)
from core.physics.statics import downforce_per_mm_gf
from core.records import (
    Balance,
    Cartridge,
    Deck,
    Directions,
    Grams,
    GramsForce,
    Limits,
    Millimetres,
)
from core.steps.shared import is_checked
from core.steps.shared.arm_moves import UNKNOWN_WEIGHT_G

ROUGH: Final = "rough_downforce"
FINAL: Final = "final_downforce"

STOP_FACTOR: Final = 1.5
"""Above this many times the maker's maximum the stylus is in danger: house rule, practice."""

FLOATING_GF: Final = 0.02
"""A scale that shows no more than this carries nothing: the arm floats."""

_FROM_THE_RECORD: Final = Directions("above the record", "below the record")

SHIFTS_WEIGHT: Final = frozenset(
    {
        Control.CARTRIDGE,
        Control.PILLAR,
        Control.BASE_SHIM,
        Control.HEAD_SHIM,
        Control.SLIDE,
        Control.TWIST,
        Control.TILT,
        Control.TILT_SHIM,
        Control.SCREWS,
    }
)
"""Controls other than that of downforce that shift weight."""

_LARGEST_MOVE: Final = 1e4

_EMPTY_PAN_G: Final = 0.01
"""A check weight no heavier than this counts as none."""

_SHOWN: Final = Limits(0, 30, usual=(0.5, 6), beyond="scale", below="scale", stops_beyond=True)

_SHOWN_AS_NOTHING: Final = 0.5
"""The largest share of the target that a scale may show as 0: our own allowance."""

_MASS_SHARE: Final = 0.02
"""Error of a counterweight's stated mass, one standard uncertainty: our own allowance."""

_NO_MASS_SHARE: Final = 0.5
"""The same for an unstated mass."""

CONTRADICT_SHARE: Final = 0.15
CONTRADICT_READS: Final = 6.0
"""Weighings of the same thing contradict each other if they differ by more than this share of it,
and by more than so many times the scale's repeatability: our own allowance."""


class DownforceReading(Reading):
    """The base of every reading of the downforce itself, at either of the two steps."""

    TELLS_DOWNFORCE: ClassVar[bool] = True

    def measure(self, step: str, deck: Deck) -> Weighing | Floated:
        """Return what was weighed, or set on the floating arm."""
        raise NotImplementedError


class ScaleReading(DownforceReading):
    """The stylus on a scale."""

    WAY_TITLE: ClassVar[str] = "Scale under the stylus"
    NEEDS: ClassVar[str] = "has_scale"

    way: Literal["scale"] = "scale"
    downforce_gf: Annotated[GramsForce, _SHOWN] = Field(
        title="Scale shows",
        description="With the stylus on the pan, just as the scale shows it; 0 if the arm floats.",
    )
    pan_height_mm: (
        Annotated[Millimetres, Limits(-20, 40, usual=(-3, 12)), _FROM_THE_RECORD] | None
    ) = Field(
        None,
        title="Pan stands",
        description="How far above or below the record surface. Empty if level with it.",
    )

    def measure(self, step: str, deck: Deck) -> Weighing:
        """Return the weighing that this is, of one of the two steps."""
        del deck
        return Weighing(step, self.downforce_gf, self.pan_height_mm)


class CheckWeight(Reading):
    """A known weight on the same scale."""

    WAY_TITLE: ClassVar[str] = "Check weight on the scale"
    NEEDS: ClassVar[str] = "has_scale"

    way: Literal["check weight"] = "check weight"
    weight_g: Annotated[Grams, Limits(0, 50, usual=(0.5, 10))] = Field(
        title="Check weight",
        description="The mass marked on it, near the downforce wanted. 0 for the empty pan.",
    )
    shown_gf: Annotated[GramsForce, Limits(-5, 60)] = Field(
        title="Scale shows", description="With the weight, and nothing else, on the pan."
    )

    @property
    def is_empty(self) -> bool:
        """Whether it was the empty pan."""
        return self.weight_g <= _EMPTY_PAN_G

    def as_said(self) -> Reading:
        """Return a check weight of none as the empty pan that it was."""
        return self if not self.is_empty else EmptyPan(shown_gf=self.shown_gf)


class EmptyPan(Reading):
    """The same scale with nothing on its pan.

    A name and a form of its own for a check weight of 0, and stored as that.
    """

    WAY_TITLE: ClassVar[str] = "Empty pan"
    NEEDS: ClassVar[str] = "has_scale"
    COMES_WHEN_ASKED: ClassVar[bool] = True

    way: Literal["empty pan"] = "empty pan"
    shown_gf: Annotated[GramsForce, Limits(-5, 60, usual=(-0.5, 0.5))] = Field(
        title="The empty scale shows", description="With nothing on the pan, just as it shows it."
    )

    def as_kept(self) -> Reading:
        """Return it as a check weight of 0."""
        return CheckWeight(weight_g=0.0, shown_gf=self.shown_gf)


class Floating(DownforceReading):
    """Downforce set on an arm that floated level: what was set is the downforce."""

    SETS: ClassVar[bool] = True
    CONFIRMS: ClassVar[bool] = True

    floated: bool = Field(
        default=False,
        title="Floats level",
        description="Guard off, skating and every downforce dial at 0: let go, the arm neither "
        "rises nor sinks.",
    )

    def as_pattern(self) -> Reading:
        """Tick nothing beforehand: every action has to be done again."""
        ticks = {name: False for name, value in self if isinstance(value, bool)}
        return self.model_copy(update=ticks)

    def measure(self, step: str, deck: Deck) -> Floated:
        """Return what was set, and its uncertainty."""
        raise NotImplementedError


class FloatedDial(Floating):
    """The arm floated, then its own downforce dial set."""

    WAY_TITLE: ClassVar[str] = "Float the arm, then its dial"

    way: Literal["float and dial"] = "float and dial"
    zeroed: bool = Field(
        default=False,
        title="Dial at 0 while it floats",
        description="A ring round the counterweight is turned to 0 alone, the weight held still.",
    )
    dial_gf: Annotated[GramsForce, Limits(0, 10, usual=(0.5, 5))] = Field(
        title="Dial then set to",
        description="Turned with the weight. In gf; a dial in mN shows about ten times as much.",
    )
    sinks: bool = Field(
        default=False,
        title="The head now sinks",
        description="Let go above its rest, the head comes down by itself: the weight has moved.",
    )

    def measure(self, step: str, deck: Deck) -> Floated:
        """Return what the dial says; its own error is a share, that of floating is in gf."""
        lacks = _first_lack(floated=self.floated, zeroed=self.zeroed, sinks=self.sinks)
        bench = deck.bench
        put_on = floated_downforce_gf(self.dial_gf, bench.float_read_gf, bench.dial_error / 100.0)
        return Floated(step, put_on, lacks, "dial")

    @classmethod
    def suits(cls, deck: Deck, cartridge: Cartridge) -> bool:  # noqa: ARG003  # as the base
        """Whether the arm has a dial of its own."""
        return has_dial(deck)


class FloatedSlide(Floating):
    """The arm floated, then a counterweight of known mass moved by a distance."""

    WAY_TITLE: ClassVar[str] = "Float the arm, then move its weight"

    way: Literal["float and slide"] = "float and slide"
    slid_mm: Annotated[Millimetres, Limits(0, 60, usual=(0.5, 20))] = Field(
        title="Then moved toward the head by",
        description="By a ruler: from the weight to a fixed place on the arm, before and after.",
    )
    sinks: bool = Field(
        default=False,
        title="The head now sinks",
        description="Let go above its rest, the head comes down by itself: the weight has moved.",
    )

    def measure(self, step: str, deck: Deck) -> Floated:
        """Return the weight's moment for this distance, by two ruler readings."""
        lacks = _first_lack(floated=self.floated, sinks=self.sinks)
        put_on = floated_downforce_gf(self.slid_mm * gf_per_mm(deck), *slide_spread(deck))
        return Floated(step, put_on, lacks, "weight")

    @classmethod
    def suits(cls, deck: Deck, cartridge: Cartridge) -> bool:  # noqa: ARG003  # as the base
        """Whether the arm has no dial, and a counterweight of known mass."""
        return slides_by_ruler(deck)


Readings = Annotated[
    ScaleReading | CheckWeight | EmptyPan | FloatedDial | FloatedSlide, Field(discriminator="way")
]
"""The ways of reading of both steps."""


def has_dial(deck: Deck) -> bool:
    """Whether the arm has a downforce dial, or a ring in gf round its counterweight."""
    arm = deck.arm
    return arm.balance is Balance.DYNAMIC or arm.gf_per_turn is not None


def slides_by_ruler(deck: Deck) -> bool:
    """Whether the arm has no dial, but a counterweight of known mass."""
    return not has_dial(deck) and deck.arm.counterweight_g is not None


def gf_per_mm(deck: Deck) -> float:
    """Return the downforce per millimetre of the counterweight; of a usual one if unknown."""
    mass_g = deck.arm.counterweight_g or UNKNOWN_WEIGHT_G
    return downforce_per_mm_gf(mass_g, deck.arm.effective_length_mm)


def slide_spread(deck: Deck) -> tuple[float, float]:
    """Return the error of a downforce set by a ruler: gf, and a share of it."""
    bench = deck.bench
    ruler_gf = math.sqrt(2.0) * bench.ruler_read_mm * gf_per_mm(deck)
    known = deck.arm.counterweight_g is not None
    return math.hypot(bench.float_read_gf, ruler_gf), _MASS_SHARE if known else _NO_MASS_SHARE


def _first_lack(**done: bool) -> str:
    """Return the first action that was left out, empty if none was."""
    return next((what for what, is_done in done.items() if not is_done), "")


def applies(deck: Deck, cartridge: Cartridge) -> Applicability:
    """Every arm's downforce is weighed, whatever produces it."""
    dial = deck.arm.balance is Balance.DYNAMIC
    return Applicability(
        reads=True,
        adjusts=True,
        ways=ways_for(Readings, deck, cartridge),
        reason=message("downforce.dial_reason") if dial else None,
    )


@dataclass(frozen=True, slots=True)
class Weighing:
    """A reading of the stylus on the scale, as shown."""

    step: str
    shown_gf: float
    pan_height_mm: float | None


@dataclass(frozen=True, slots=True)
class Shifted:
    """The control of downforce was moved: ``amount`` in its own ``unit``."""

    step: str
    amount: float
    unit: str
    equivalent_mm: float | None
    put_right: bool = False
    """Whether the person was asked, and said that it went the other way than first entered."""


@dataclass(frozen=True, slots=True)
class Unsettled:
    """Something else that shifts weight was moved, by an unknown effect."""

    step: str


@dataclass(frozen=True, slots=True)
class Floated(Unsettled):
    """The arm was floated again and set: no earlier reading still holds.

    ``lacks`` names an action that was left out, empty if none was: then ``put_on`` is the
    downforce.
    """

    put_on: Estimate
    lacks: str
    means: str
    """How it was set: by ``dial`` or ``weight``."""


@dataclass(frozen=True, slots=True)
class Checked:
    """The questions about the control were answered."""

    step: str


@dataclass(frozen=True, slots=True)
class FloatedAnew(Unsettled):
    """The arm was floated again, at whatever position of the control: it bears nothing there."""


Event = Weighing | Shifted | Unsettled | Checked


def allowed_gf(deck: Deck, cartridge: Cartridge) -> tuple[float, float]:
    """Return the least and the most downforce of the maker's range, in gf.

    A single figure allows for what hands and scales are off by, and is taken with the deck's
    tolerance about it (house rule).
    """
    least, most = cartridge.downforce_min_gf, cartridge.downforce_max_gf
    tolerance = deck.tolerances.downforce_gf if least == most else 0.0
    return least - tolerance, most + tolerance


def events_of(context: Context) -> tuple[Event, ...]:
    """Return weighings and moves of both steps, and what invalidates them, in order of time.

    Trials without a time (drafts) come last; equal times keep the order of the steps.
    """
    timed = _timed(context)
    zeros = [one.shown_gf for one in timed if isinstance(one, CheckWeight) and one.is_empty]
    events = [one for one in timed if not isinstance(one, CheckWeight)]
    if not _has_moved(zeros, context):
        return tuple(events)
    events, zero = [], zeros[-1]
    for one in reversed(timed):
        if isinstance(one, CheckWeight):
            zero = one.shown_gf if one.is_empty else zero
        elif isinstance(one, Weighing) and one.shown_gf > FLOATING_GF:
            events.append(replace(one, shown_gf=one.shown_gf + zeros[-1] - zero))
        else:
            events.append(one)
    return tuple(reversed(events))


def _timed(context: Context) -> list[Event | CheckWeight]:
    """Return what counts and what checked the scale, in order of time."""
    timed: list[tuple[float, Event | CheckWeight]] = []
    for step, trials in context.log.items():
        for trial in trials:
            at = math.inf if trial.at is None else trial.at.timestamp()
            timed += [(at, event) for event in _events_in(step, trial, context.deck)]
    timed.sort(key=lambda pair: pair[0])
    return [event for _, event in timed]


def _has_moved(empty_gf: list[float], context: Context) -> bool:
    """Whether the empty pan showed figures too far apart for one zero.

    The scale was zeroed between them, or drifted. Each weighing then belongs to the empty pan that
    was read next after it.
    """
    apart = CONTRADICT_READS * context.deck.bench.scale_read_gf
    return bool(empty_gf) and max(empty_gf) - min(empty_gf) > apart


def zero_is_old(context: Context, step: str, weighings: int) -> bool:
    """Whether so many last weighings of a step were all made after the empty pan was last read."""
    after = 0
    for one in reversed(_timed(context)):
        if isinstance(one, CheckWeight) and one.is_empty:
            return after >= weighings > 0
        after += isinstance(one, Weighing) and one.step == step
    return False


def _events_in(step: str, trial: Trial, deck: Deck) -> list[Event | CheckWeight]:
    if isinstance(trial.reading, DownforceReading) and step in (ROUGH, FINAL):
        return [trial.reading.measure(step, deck)]
    if trial.reading is not None and step in (ROUGH, FINAL):
        kept = trial.reading.as_kept()
        if isinstance(kept, CheckWeight):
            return [kept]
    if is_checked(trial, Control.COUNTERWEIGHT, where=FLOATED_ANEW):
        return [FloatedAnew(step)]
    if is_checked(trial, Control.COUNTERWEIGHT):
        return [Checked(step)]
    events: list[Event | CheckWeight] = []
    for part in trial.moves:
        if part.control is Control.COUNTERWEIGHT:
            sound = math.isfinite(part.amount) and abs(part.amount) <= _LARGEST_MOVE
            amount = part.amount if sound else math.nan
            shifted = Shifted(step, amount, part.unit, part.equivalent_mm, trial.put_right)
            events.append(shifted)
        elif part.control in SHIFTS_WEIGHT:
            events.append(Unsettled(step))
    return events


@dataclass(frozen=True, slots=True)
class DownforceState:
    """Weighings of a step: those before the last move of the control, and those after it.

    ``moved_since``: the control was moved after the last weighing, so none is valid. ``floated`` is
    the downforce set on a floating arm, if that came last; ``in_vain`` the number of failed
    attempts in a row to float it, that one included.
    """

    before: tuple[Weighing, ...]
    now: tuple[Weighing, ...]
    moved_since: bool
    floated: Floated | None = None
    in_vain: int = 0


def downforce_state_of(events: tuple[Event, ...], step: str) -> DownforceState:
    """Return which weighings of a step are valid.

    A move of the counterweight ends what was weighed before it: for the rough step its own moves,
    for the final step those of both. Other shifts of weight only separate weighings; the journey
    decides whether they matter, as it knows by how much.
    """
    own = {ROUGH} if step == ROUGH else {ROUGH, FINAL}
    mine = [i for i, e in enumerate(events) if isinstance(e, Weighing) and e.step == step]
    last = mine[-1] if mine else -1
    ends = Shifted | Floated | FloatedAnew
    later = [e for e in events[last + 1 :] if e.step in own and isinstance(e, ends)]
    floated = later[-1] if later and isinstance(later[-1], Floated) else None
    if floated is not None and floated.step == step:
        tries = [e.lacks for e in reversed(later) if isinstance(e, Floated)]
        in_vain = next((i for i, lacks in enumerate(tries) if not lacks), len(tries))
        before = _at(events, mine)
        return DownforceState(before, (), moved_since=False, floated=floated, in_vain=in_vain)
    moved_since = bool(later)
    first = last
    while first > 0 and isinstance(events[first - 1], Weighing | Checked):
        first -= 1
    status = [i for i in mine if first <= i and not moved_since]
    passed = [i for i in mine if i not in status]
    return DownforceState(_at(events, passed), _at(events, status), moved_since)


def _at(events: tuple[Event, ...], places: list[int]) -> tuple[Weighing, ...]:
    return tuple(event for i in places if isinstance(event := events[i], Weighing))


@dataclass(frozen=True, slots=True)
class ScaleWorth:
    """The accuracy of the scale.

    ``gain_share`` is the scale's own error as a share, one standard uncertainty, used where no
    check weight gives a ``correction``; ``read_gf`` is the repeatability of one placing. ``notes``
    say what the check weight showed, ``fault`` why it can't be used.
    """

    correction: ScaleCorrection | None
    gain_share: float
    read_gf: float
    notes: tuple[Message, ...] = ()
    fault: Message | None = None
    by_weight: bool = False
    """Whether a check weight was read; the empty pan alone tells only the zero."""
    by_empty_pan: bool = False
    """Whether the empty pan was read, but no check weight."""
    floated_by: str = ""
    """Without a scale: by the ``dial`` of an arm that floated, or by its ``weight`` moved."""

    @property
    def method(self) -> Message:
        """How it was weighed, for the record."""
        if self.floated_by:
            return message("downforce.floated_by", means=self.floated_by)
        if self.by_weight:
            return message("downforce.checked_scale")
        return message("downforce.scale")

    def true_of(self, shown_gf: float) -> float:
        """Return the downforce for one reading of the scale."""
        if self.correction is None:
            return shown_gf
        return self.correction.corrected(Estimate(shown_gf, 0.0)).value

    def floats(self, *shown_gf: float) -> bool:
        """Return whether the arm bore nothing in any of these, as shown or as corrected.

        A pan that shows less than zero when empty turns a 0 into a small value; but 0 is also typed
        for a floating arm, and an ambiguous 0 teaches nothing.
        """
        return all(min(shown, self.true_of(shown)) <= FLOATING_GF for shown in shown_gf)

    def mean(self, shown_gf: list[float]) -> Estimate:
        """Return the downforce for several readings of one state, calibration included.

        The display's step is taken to be about the scale's repeatability.
        """
        free = mean_of(shown_gf, self.read_gf, resolution=self.read_gf)
        if self.correction is not None:
            return self.correction.corrected(free)
        return free.widened(abs(free.value) * self.gain_share)

    def calibration_gf(self, shown_gf: float) -> float:
        """Return the part of the error that more readings don't reduce."""
        if self.correction is not None:
            return self.correction.corrected(Estimate(shown_gf, 0.0)).standard_uncertainty
        return abs(shown_gf) * self.gain_share


def check_weighings(context: Context) -> list[CheckWeight]:
    """Return the readings of check weights, and of the empty pan, in both steps by time.

    If the zero has moved, only what was read since the last zero.
    """
    read = [one for one in _timed(context) if isinstance(one, CheckWeight)]
    while _has_moved([one.shown_gf for one in read if one.is_empty], context):
        read = read[1:]
    return read


def scale_worth(context: Context) -> ScaleWorth:
    """Return the accuracy of the scale by the check weights of both steps.

    Of several nominal weights the one nearest to the target is used. It is combined with the
    scale's stated error, weighted by the uncertainties, as long as the two agree; if they don't,
    only the weight counts.
    """
    bench = context.deck.bench
    share = bench.scale_gain_error / 100.0
    checks = check_weighings(context)
    plain = ScaleWorth(None, share, bench.scale_read_gf)
    masses = {check.weight_g for check in checks if not check.is_empty}
    target = context.cartridge.downforce_target_gf
    if not masses:
        return _zeroed([check.shown_gf for check in checks], target, plain)
    mass = min(masses, key=lambda g: abs(math.log(g / target)))
    shown = [check.shown_gf for check in checks if check.weight_g == mass]
    apart = max(CONTRADICT_SHARE * mass, CONTRADICT_READS * bench.scale_read_gf)
    groups = [[one for one in shown if abs(one - other) <= apart] for other in shown]
    alike = max(groups, key=len)
    if 2 * len(alike) <= len(shown):
        low, high = Quantity(min(shown), "", 2), Quantity(max(shown), "gf")
        return replace(plain, fault=message("downforce.fault.differ", low=low, high=high))
    try:
        measured = scale_correction(
            alike,
            mass,
            reading_standard_uncertainty_gf=bench.scale_read_gf,
            weight_standard_uncertainty_g=check_weight_uncertainty_g(_limit_mg(mass)),
            empty_gf=[check.shown_gf for check in checks if check.is_empty],
            resolution_gf=bench.scale_read_gf,
        )
    except ValueError:  # the weight hardly changes what the scale shows
        fault = message("downforce.fault.hardly_more")
        return ScaleWorth(None, share, bench.scale_read_gf, fault=fault)
    worth = _weighed_against_statement(context, measured, share)
    misleads = _misleading(context, worth)
    if misleads is not None:
        return ScaleWorth(None, share, bench.scale_read_gf, fault=misleads)
    return worth


def _zeroed(empty_gf: list[float], target_gf: float, plain: ScaleWorth) -> ScaleWorth:
    """Return the accuracy of a scale of which at most the empty pan was read."""
    read = plain.read_gf
    if not empty_gf:
        return plain
    plain = replace(plain, by_empty_pan=True)
    empty = mean_of(empty_gf, read, resolution=read)
    shown = Quantity(empty.value, "gf", form="signed")
    if abs(empty.value) > _SHOWN_AS_NOTHING * target_gf:
        return replace(plain, fault=message("downforce.fault.not_zeroed", shown=shown))
    if abs(empty.value) <= read:
        return plain  # at zero, as far as it tells
    loaded = empty.shifted(target_gf).widened(plain.gain_share * target_gf)
    note = message("downforce.note.zero_off", shown=shown)
    correction = ScaleCorrection(empty, loaded, Estimate(target_gf, 0.0))
    return replace(plain, correction=correction, notes=(note,))


def _misleading(context: Context, worth: ScaleWorth) -> Message | None:
    """Return why a correction must not be used, None if it may be.

    If the target itself would show above the stop limit, a mistyped weight could lead there; if
    much of it would show as 0, a floating arm can't be told from a bearing one.
    """
    correction = worth.correction
    if correction is None:
        return None
    target = context.cartridge.downforce_target_gf
    shown = correction.empty.value + target * correction.gain.value
    if shown > STOP_FACTOR * context.cartridge.downforce_max_gf:
        return message(
            "downforce.fault.shows_too_much",
            shown=Quantity(shown, "gf"),
            wanted=Quantity(target, "gf"),
        )
    nothing = worth.true_of(0.0)
    if nothing > _SHOWN_AS_NOTHING * target:
        return message("downforce.fault.shows_nothing", true=Quantity(nothing, "gf"))
    return None


def _weighed_against_statement(
    context: Context, measured: ScaleCorrection, share: float
) -> ScaleWorth:
    mass = measured.weight_g.value
    expected = mass + measured.empty.value
    off = measured.weighed.value - expected
    u_measured = math.hypot(
        measured.weighed.standard_uncertainty, measured.empty.standard_uncertainty
    )
    u_stated = share * mass
    percent = round(100.0 * off / mass, 1)
    told: dict[str, Value] = {
        "way": "high" if percent > 0.0 else "low" if percent < 0.0 else "true",
        "percent": Quantity(abs(percent), "%", 1),
        "mass": Quantity(mass, form="short"),
    }
    read_gf = context.deck.bench.scale_read_gf
    if abs(off) > CERTAIN_FACTOR * math.hypot(u_measured, u_stated) or u_stated == 0.0:
        note = message("downforce.note.off_by_more", **told)
        return ScaleWorth(measured, share, read_gf, notes=(note,), by_weight=True)
    weight = u_stated**2 / (u_stated**2 + u_measured**2)
    blended = Estimate(
        expected + weight * off, u_measured * u_stated / math.hypot(u_measured, u_stated)
    )
    correction = ScaleCorrection(measured.empty, blended, measured.weight_g)
    note = message("downforce.note.off_by", **told)
    return ScaleWorth(correction, share, read_gf, notes=(note,), by_weight=True)


def _limit_mg(mass_g: float) -> float:
    """Return the limit of error of a class M1 weight: the listed one, or the next listed above.

    Beyond the list the largest limit grows in proportion, which is more than the class allows.
    """
    listed = [mass for mass in sorted(CHECK_WEIGHT_LIMITS_MG) if mass >= mass_g]
    if listed:
        return CHECK_WEIGHT_LIMITS_MG[listed[0]]
    largest = max(CHECK_WEIGHT_LIMITS_MG)
    return CHECK_WEIGHT_LIMITS_MG[largest] * mass_g / largest
