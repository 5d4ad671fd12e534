"""What is known of a deck: feet, arm, head, controls, platter, bench kit and tolerances.

A deck is a value: it never changes, a correction is a new revision in the library. Lengths are
in millimetres; the deck's axes are seen from above with the person in front: x to the right, y to
the back, z up. Every field says what it is (title) and what to enter (description); forms,
documents and sentences all read it from here.
"""

from __future__ import annotations

import math
from typing import Annotated, ClassVar, Final, Self

from pydantic import Field, model_validator

from core.records.arm import Arm
from core.records.base import FrozenModel
from core.records.bench_kit import BenchKit, Tolerances
from core.records.quantities import (
    Choice,
    Count,
    Decibels,
    Degrees,
    Directions,
    Grams,
    GramsForce,
    HoursPerWeek,
    Kilohms,
    Limits,
    Millimetres,
    MillimetresPerTurn,
    NotAsked,
    Ohms,
    Picofarads,
    PlainNumber,
    RevolutionsPerMinute,
    RpmPerTurn,
    When,
)

_SAME_SPEED: Final = 0.02
"""Two speeds no further apart than this share are one: trimmed, or told to fewer places."""


class FeetControl(Choice):
    """Which feet can be turned."""

    NONE = "none", "No foot is adjustable"
    SOME = "some", "Some feet are adjustable"
    ALL = "all", "All feet are adjustable"


class HeightControl(Choice):
    """How the arm's rear goes up and down."""

    NONE = "none", "Fixed height"
    PILLAR = "pillar", "Pillar with a grub screw"
    COLLAR = "collar", "Threaded collar, in turns"
    SHIMS = "shims", "Shims under the arm base or the cartridge"


class HeadKind(Choice):
    """How the cartridge sits in the head."""

    SLOTS = "slots", "Slots: slides and twists"
    FIXED = "fixed", "Fixed holes: nothing slides"
    PLUG_IN = "plug-in", "Plug-in cartridge: nothing slides"


class TiltControl(Choice):
    """How the head is rolled left and right."""

    NONE = "none", "Not adjustable"
    HEAD = "head", "The head turns on the tube"
    COLLAR = "collar", "The tube turns in a collar"
    SHIM = "shim", "Shim on one side of the cartridge"


class SkatingControl(Choice):
    """How skating force is balanced."""

    DIAL = "dial", "Dial marked in downforce"
    THREAD_WEIGHT = "thread weight", "Weight on a thread, notches"
    SPRING = "spring", "Spring with a setting"
    MAGNET = "magnet", "Magnet with a setting"
    FLUID = "fluid", "Fixed or fluid: nothing to set"
    NONE = "none", "No skating compensation"


class SpeedTrim(Choice):
    """How the platter's speed is corrected."""

    NONE = "none", "Not adjustable"
    SCREW = "screw", "Trim screw"
    ELECTRONIC = "electronic", "Buttons or a knob"


class Foot(FrozenModel):
    """One foot or support point of the plinth, seen from above."""

    name: Annotated[str, Field(min_length=1, max_length=40)] = Field(
        title="Foot", description="Where it is, in words, such as front left."
    )
    x_mm: Annotated[Millimetres, Limits(-1000, 1000), Directions("to the right", "to the left")] = (
        Field(title="Across", description="From the middle of the plinth.")
    )
    y_mm: Annotated[Millimetres, Limits(-1000, 1000), Directions("to the rear", "to the front")] = (
        Field(title="Along", description="From the middle of the plinth.")
    )
    adjustable: bool = Field(
        default=True,
        title="Adjustable",
        description="Whether this foot can be made longer and shorter.",
    )
    travel_up_mm: Annotated[Millimetres, Limits(0, 50)] = Field(
        6.0, title="Can still grow by", description="How much longer this foot can be made."
    )
    travel_down_mm: Annotated[Millimetres, Limits(0, 50)] = Field(
        0.0, title="Can still shrink by", description="How much shorter this foot can be made."
    )

    @property
    def can_be_turned(self) -> bool:
        """Whether it is adjustable and has any travel left, either way."""
        return self.adjustable and self.travel_up_mm + self.travel_down_mm > 0.0


class Plinth(FrozenModel):
    """What the deck stands on."""

    feet: tuple[Foot, ...] = Field(
        title="Feet",
        description="Every point the deck stands on, three or more, where they are from above.",
    )
    pitch_mm_per_turn: Annotated[MillimetresPerTurn, Limits(0.1, 5, usual=(0.5, 2))] | None = Field(
        1.25,
        title="Thread of the feet",
        description="Height gained by one turn; an M8 thread gives 1.25 mm. Empty if unknown.",
    )

    @property
    def control(self) -> FeetControl:
        """Which feet can be turned, as said by the feet themselves."""
        adjustable = sum(foot.can_be_turned for foot in self.feet)
        if adjustable == 0:
            return FeetControl.NONE
        return FeetControl.ALL if adjustable == len(self.feet) else FeetControl.SOME

    @model_validator(mode="after")
    def _feet_hold_a_plane(self) -> Self:
        names = [foot.name for foot in self.feet]
        if len(names) < 3:
            raise ValueError("A deck stands on at least three feet: add the missing ones.")
        if len(set(names)) != len(names):
            raise ValueError("Two feet have the same name: each needs its own.")
        xs, ys = [f.x_mm for f in self.feet], [f.y_mm for f in self.feet]
        mx, my = sum(xs) / len(xs), sum(ys) / len(ys)
        sxx = sum((x - mx) ** 2 for x in xs)
        syy = sum((y - my) ** 2 for y in ys)
        sxy = sum((x - mx) * (y - my) for x, y in zip(xs, ys, strict=True))
        if sxx * syy - sxy * sxy <= 1e-6 * (sxx + syy) ** 2:
            raise ValueError("The feet stand in one line: a deck on such feet has no level.")
        return self


class Head(FrozenModel):
    """Where the cartridge sits, and how far it can go."""

    kind: HeadKind = Field(title="Head", description="How the cartridge is held.")
    slot_forward_mm: Annotated[Millimetres, Limits(0, 40), When("kind", ("slots",))] = Field(
        6.0,
        title="Slot ahead of the middle",
        description="How far the cartridge can slide forward in the head, from where the arm has "
        "its stated effective length.",
    )
    slot_back_mm: Annotated[Millimetres, Limits(0, 40), When("kind", ("slots",))] = Field(
        6.0,
        title="Slot behind the middle",
        description="How far the cartridge can slide back in the head, from the same place.",
    )
    twist_deg: Annotated[Degrees, Limits(0, 30), When("kind", ("slots",))] = Field(
        4.0,
        title="Twist each way",
        description="How far the cartridge can be twisted in its slots either way.",
    )
    base_slides: bool = Field(
        default=False,
        title="The arm base slides",
        description="On if the whole arm base can be moved nearer to or further from the spindle.",
    )


class Height(FrozenModel):
    """How the arm is made level."""

    control: HeightControl = Field(title="Arm height", description="What moves it up and down.")
    mm_per_turn: Annotated[MillimetresPerTurn, Limits(0.1, 5), When("control", ("collar",))] = (
        Field(1.0, title="Collar thread", description="Height gained by one turn of the collar.")
    )
    travel_up_mm: Annotated[
        Millimetres, Limits(0, 60), When("control", ("pillar", "collar", "shims"))
    ] = Field(6.0, title="Can go up by", description="From where it stands now.")
    travel_down_mm: Annotated[
        Millimetres, Limits(0, 60), When("control", ("pillar", "collar", "shims"))
    ] = Field(6.0, title="Can go down by", description="From where it stands now.")


class Tilt(FrozenModel):
    """How the cartridge is made upright."""

    control: TiltControl = Field(title="Tilt", description="What rolls the cartridge upright.")
    smallest_step_deg: Annotated[Degrees, Limits(0.01, 5), When("control", ("head", "collar"))] = (
        Field(0.1, title="Smallest step", description="The least that can be turned on purpose.")
    )


class Skating(FrozenModel):
    """How skating is balanced."""

    control: SkatingControl = Field(title="Skating", description="What balances skating force.")
    step_gf: Annotated[
        GramsForce, Limits(0.01, 2), When("control", ("dial", "spring", "magnet"))
    ] = Field(0.25, title="Smallest step", description="Between two marks, in downforce as marked.")
    highest_gf: Annotated[
        GramsForce, Limits(0.1, 10), When("control", ("dial", "spring", "magnet"))
    ] = Field(3.0, title="Highest mark", description="The last mark, in downforce as marked.")
    thread_weight_g: Annotated[Grams, Limits(0.1, 20), When("control", ("thread weight",))] = Field(
        3.0, title="Weight on the thread", description="Its mass."
    )
    notch_levers_mm: Annotated[
        tuple[Annotated[Millimetres, Limits(0.5, 60)], ...], When("control", ("thread weight",))
    ] = Field(
        (8.0, 11.0, 14.0),
        title="Notches",
        description="Distance of each notch from the arm's pivot, nearest first.",
    )


class Platter(FrozenModel):
    """Speeds and how they are trimmed."""

    speeds_rpm: tuple[Annotated[RevolutionsPerMinute, Limits(10, 100, usual=(16, 80))], ...] = (
        Field(
            (33.333333, 45.0),
            title="Speeds",
            description="Every speed the deck plays at, in revolutions per minute.",
        )
    )
    trim: SpeedTrim = Field(title="Speed trim", description="What corrects the speed.")
    rpm_per_turn: (
        Annotated[
            RpmPerTurn,
            Limits(-20, 20),
            Directions("faster clockwise", "slower clockwise"),
            When("trim", ("screw",)),
        ]
        | None
    ) = Field(
        None,
        title="Speed for one turn",
        description="Change for one turn clockwise, if known.",
    )
    rpm_per_step: (
        Annotated[RevolutionsPerMinute, Limits(0.0001, 5), When("trim", ("electronic",))] | None
    ) = Field(None, title="Speed for one press", description="Change for one press, if known.")
    one_trim_for_all: bool = Field(
        default=False,
        title="One trim for all speeds",
        description="On if correcting one speed moves the others with it.",
    )
    motor_rpm: Annotated[RevolutionsPerMinute, Limits(10, 6000, usual=(100, 3600))] | None = Field(
        None,
        title="Motor",
        description="Its turns a minute at the deck's first speed, if known. The spectrum of a "
        "recorded tone is marked there.",
    )
    motor_other_rpm: tuple[
        Annotated[RevolutionsPerMinute, Limits(10, 6000, usual=(100, 3600))], ...
    ] = Field(
        (),
        title="Motor, other speeds",
        description="The same at each of the other speeds, in their order. Where the belt is moved "
        "to another pulley, the motor turns as before: enter that once more. Empty if unknown.",
    )
    belt_mm: Annotated[Millimetres, Limits(50, 3000, usual=(300, 1600))] | None = Field(
        None,
        title="Belt length",
        description="All the way round, as it lies on. Empty without a belt, or if unknown.",
    )
    belt_runs_on_mm: Annotated[Millimetres, Limits(20, 400, usual=(60, 340))] | None = Field(
        None,
        title="Belt runs on",
        description="Diameter of the platter or ring that the belt turns. With the belt's length "
        "it says how often the belt comes round.",
    )
    warm_up_min: Annotated[PlainNumber, Limits(0, 120)] = Field(
        10.0, title="Warm-up", description="Minutes of running before a speed reading counts."
    )

    mat_mm: Annotated[Millimetres, Limits(0, 12, usual=(0.5, 6))] | None = Field(
        None,
        title="Mat",
        description="Thickness of the mat that is on it now, 0 for none. Empty if unknown.",
    )

    @model_validator(mode="after")
    def _has_a_speed(self) -> Self:
        if not self.speeds_rpm:
            raise ValueError("A deck plays at one speed at least: enter it.")
        return self

    @model_validator(mode="after")
    def _motor_at_each(self) -> Self:
        if len(self.motor_other_rpm) not in (0, len(self.speeds_rpm) - 1):
            raise ValueError(
                "The motor's turns at the other speeds: one number for each speed but the first, "
                "or none."
            )
        return self

    def motor_hz(self, rpm: float) -> float | None:
        """Return how often the motor turns in a second at a speed; None if that is not known.

        It does not follow from another speed's: a motor may turn faster, or a larger pulley drive.
        """
        stated = zip(self.speeds_rpm, (self.motor_rpm, *self.motor_other_rpm), strict=False)
        turns = next((m for own, m in stated if abs(rpm / own - 1.0) <= _SAME_SPEED), None)
        return None if turns is None else turns / 60.0

    def belt_hz(self, rpm: float) -> float | None:
        """Return how often the belt comes round in a second at a speed; None if not known.

        In one turn of the platter the belt moves on by the way round what it turns (derived; slip
        and the belt's thickness left out, about one percent).
        """
        if self.belt_mm is None or self.belt_runs_on_mm is None:
            return None
        return rpm / 60.0 * math.pi * self.belt_runs_on_mm / self.belt_mm


class Amplifier(FrozenModel):
    """What the deck plays into, as far as it matters to the cartridge."""

    input_pf: Annotated[Picofarads, Limits(0, 2000)] | None = Field(
        None, title="Input capacitance", description="Of the phono input, if known."
    )
    input_kohm: Annotated[Kilohms, Limits(0.01, 1000)] = Field(
        47.0,
        title="Input resistance",
        description="Of the input for moving magnets; 47 kΩ is usual.",
    )
    coil_input_ohm: Annotated[Ohms, Limits(1, 100000)] | None = Field(
        None,
        title="Moving coil: input",
        description="Resistance of the input for moving coils, or set there. Empty if unknown.",
    )
    coil_gain_db: Annotated[Decibels, Limits(0, 90)] | None = Field(
        None,
        title="Moving coil: gain",
        description="From that input to the phono stage's output, transformer included.",
    )


class MountedArm(FrozenModel):
    """What belongs to one arm of a deck, with its name and the key that it keeps for good.

    Feet, platter, amplifier, bench kit and tolerances belong to the deck. The first arm's key is
    empty; it has no name where it is the only one.
    """

    key: Annotated[str, Field(max_length=64), NotAsked()] = ""
    name: Annotated[str, Field(max_length=60)] = Field(
        "", title="Name of the arm", description="What tells it from the others: Rear arm."
    )
    arm: Arm = Field(title="Arm", description="The arm and its counterweight.")
    head: Head = Field(title="Head", description="Where the cartridge sits.")
    height: Height = Field(title="Arm height", description="How the arm is made level.")
    tilt: Tilt = Field(title="Tilt", description="How the cartridge is made upright.")
    skating: Skating = Field(title="Skating", description="How skating force is balanced.")


class FurtherArm(MountedArm):
    """An arm beside the first."""

    name: Annotated[str, Field(min_length=1, max_length=60)] = Field(
        title="Name of the arm", description="What tells it from the others: Rear arm."
    )
    put_away: bool = Field(
        default=False,
        title="Put away",
        description="On if it is not used any more. Its fittings stay; it is not offered.",
    )


class Deck(FrozenModel):
    """A record player, as far as fitting a cartridge needs it known."""

    name: Annotated[str, Field(min_length=1, max_length=120)] = Field(
        title="Name", description="Your name for this deck."
    )
    owner_reference: Annotated[str, Field(max_length=120)] = Field(
        "", title="Owner's reference", description="Job number or shelf, free text."
    )
    notes: Annotated[str, Field(max_length=4000)] = Field(
        "", title="Notes", description="Anything worth knowing, free text."
    )
    check_months: Annotated[Count, Limits(1, 120)] | None = Field(
        12,
        title="Months to the next check",
        description="How many months after a finished fitting the deck is due to be checked again. "
        "Empty for no date.",
    )
    hours_a_week: Annotated[HoursPerWeek, Limits(0.1, 168, usual=(0.5, 60))] | None = Field(
        None,
        title="Played a week",
        description="Hours a week this deck is played, to estimate how far its stylus is worn. "
        "Empty if unknown.",
    )
    plinth: Plinth = Field(title="Plinth and feet", description="What the deck stands on.")
    arm: Arm = Field(title="Arm", description="The arm and its counterweight.")
    head: Head = Field(title="Head", description="Where the cartridge sits.")
    height: Height = Field(title="Arm height", description="How the arm is made level.")
    tilt: Tilt = Field(title="Tilt", description="How the cartridge is made upright.")
    skating: Skating = Field(title="Skating", description="How skating force is balanced.")
    platter: Platter = Field(title="Platter and speed", description="Speeds and their trim.")
    amplifier: Amplifier = Field(
        default_factory=Amplifier, title="Amplifier", description="What it plays into."
    )
    bench: BenchKit = Field(
        default_factory=BenchKit,
        title="Bench kit",
        description="The instruments you have, and how finely they read.",
    )
    tolerances: Tolerances = Field(
        default_factory=Tolerances,
        title="Tolerances",
        description="How close is close enough.",
    )
    first_arm_name: Annotated[str, Field(max_length=60), When("further_arms")] = Field(
        "",
        title="Name of the first arm",
        description="What tells the arm described above from the further ones: Front arm.",
    )
    further_arms: Annotated[tuple[FurtherArm, ...], Field(max_length=8)] = Field(
        (),
        title="Further arms",
        description="Arms beside the one described above, each with its own head and settings. "
        "Feet, platter and speed are the deck's.",
    )

    ASKED_TOGETHER: ClassVar[str] = "first_arm_name"
    """The field to look at where each is right by itself and they don't go together."""

    @model_validator(mode="after")
    def _arms_are_told_apart(self) -> Self:
        if not self.further_arms:
            return self
        keys = [one.key for one in self.further_arms]
        if "" in keys or len({*keys}) != len(keys):
            raise ValueError("Each further arm needs a key of its own.")
        if not self.first_arm_name:
            raise ValueError("The first arm needs a name too, to tell it from the others.")
        names = [self.first_arm_name, *(one.name for one in self.further_arms)]
        if len({" ".join(name.casefold().split()) for name in names}) != len(names):
            raise ValueError("Two arms have the same name: each needs its own.")
        return self
