"""The end of a rehearsal: the hidden truth, the result, and what the program said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.fitting import Fitting, Journey, ReadingTaken, StepState, StepStatus, Verdict
from core.language import Message, Name, Quantity, message
from core.practice.costs import cost_of
from core.practice.rehearsal import Rehearsal
from core.practice.saved_rehearsals import choices_from
from core.practice.truth import Truth
from core.practice.world import World
from core.records import Balance, Choice, HeightControl, SpeedTrim, TiltControl
from core.steps import ARM_HEIGHT, FINAL_DOWNFORCE, LEVEL, ROUGH_DOWNFORCE, SPEED, STEP_NAMES, TILT
from core.steps.speed import place_label, speed_key

_WORTH_SAYING: Final = 0.1
"""A control within a tenth of what is said of it is as good as its word."""


@dataclass(frozen=True, slots=True)
class StepDebrief:
    """One step at the end.

    `before` and `after` are the truth at the start and at the end, None where there is nothing to
    be right or wrong; `said` is the wizard's word for the step; `judgement` says whether that word
    was true, and `was_true` is the same as yes or no, None where nothing was claimed.
    """

    step: str
    before: Truth | None
    after: Truth | None
    said: Choice
    judgement: Message
    was_true: bool | None
    cost: Message | None = None
    """What it would have cost to leave it so; None where it really is near enough."""


def debrief_of(fresh: Rehearsal, rehearsal: Rehearsal, journey: Journey) -> tuple[StepDebrief, ...]:
    """Return how every step ended; `fresh` is the same deck with nothing moved yet."""
    _read_the_same(fresh, journey.fitting)
    return tuple(_of_step(fresh, rehearsal, journey.status(s)) for s in STEP_NAMES)


def _read_the_same(fresh: Rehearsal, fitting: Fitting) -> None:
    """Read once by each way that was used; the truth is given in the terms of the last one."""
    for entry in fitting.counting():
        body = entry.body
        if isinstance(body, ReadingTaken):
            way = str(body.reading.get("way", ""))
            if way in fresh.ways(body.step):
                chosen = choices_from(fresh, body.step, way, body.reading)
                fresh.instrument(body.step, way, **chosen)


def _of_step(fresh: Rehearsal, rehearsal: Rehearsal, status: StepStatus) -> StepDebrief:
    step = status.step
    before, after = fresh.truth_of(step), rehearsal.truth_of(step)
    said, judgement, was_true = _judged(status, after)
    cost = cost_of(rehearsal.world, after) if _is_told(step, after, rehearsal) else None
    return StepDebrief(step, before, after, said, judgement, was_true, cost)


def _is_told(step: str, truth: Truth | None, rehearsal: Rehearsal) -> bool:
    """Whether to report a step's error: of both downforce steps only the worse one is reported."""
    if step != ROUGH_DOWNFORCE or truth is None:
        return True
    final = rehearsal.truth_of(FINAL_DOWNFORCE)
    return final is None or final.is_inside


def _judged(status: StepStatus, truth: Truth | None) -> tuple[Choice, Message, bool | None]:
    verdict = status.assessment.verdict
    done = status.state is StepState.DONE
    said = status.assessment.shown_verdict if done else status.state
    truly = message("practice.truly.nothing") if truth is None else _truly(truth)
    if not status.is_settled:
        if truth is None:
            return said, message("practice.judged.unfinished_alone"), None
        return said, message("practice.judged.unfinished", truly=truly), None
    if status.state is StepState.KEPT:
        if truth is None:
            return said, message("practice.judged.kept_alone"), None
        return said, message("practice.judged.kept", truly=truly), None
    if truth is None:
        return said, truly, None
    return (said, *_claimed(verdict, truth, truly))


def _claimed(verdict: Verdict, truth: Truth, truly: Message) -> tuple[Message, bool | None]:
    if verdict is Verdict.GOOD:
        if truth.is_inside:
            return message("practice.judged.true"), True
        return message("practice.judged.wrong", truly=truly), False
    if verdict is not Verdict.LEFT_AS_FOUND:
        return message("practice.judged.unclaimed", truly=truly), None
    if truth.is_inside:
        return message("practice.judged.left_near"), None
    return message("practice.judged.left_off", truly=truly), True


def _truly(truth: Truth) -> Message:
    if truth.is_inside:
        return message("practice.truly.near")
    return message("practice.truly.off", times=Quantity(truth.ratio, "", 1))


@dataclass(frozen=True, slots=True)
class MisleadingControl:
    """A control whose effect differs from the stated one.

    ``times`` is what it does over what is said; below 0 it works the other way round.
    """

    step: str
    control: Message
    times: float

    @property
    def sentence(self) -> Message:
        """Say it."""
        much = Quantity(abs(self.times), "", 2)
        if self.times < 0.0:
            return message("practice.misled.reversed", control=self.control, times=much)
        return message("practice.misled.other", control=self.control, times=much)


def misleading_controls(world: World) -> tuple[MisleadingControl, ...]:
    """Return the controls whose effect differs from the stated one, and by how much."""
    found = (*_feet(world), *_weight(world), *_head(world), *_trims(world))
    return tuple(one for one in found if one.times < 0.0 or abs(one.times - 1.0) > _WORTH_SAYING)


def _feet(world: World) -> list[MisleadingControl]:
    pitch = world.deck.plinth.pitch_mm_per_turn
    if pitch is None:
        return []
    times = {
        foot.name: world.feet[foot.name].effect / pitch
        for foot in world.deck.plinth.feet
        if foot.adjustable
    }
    if len(times) > 1 and len(set(times.values())) == 1:
        return [
            MisleadingControl(
                LEVEL, message("practice.control", what="every_foot"), next(iter(times.values()))
            )
        ]
    return [
        MisleadingControl(LEVEL, message("practice.foot", name=Name(name)), one)
        for name, one in times.items()
    ]


def _weight(world: World) -> list[MisleadingControl]:
    arm, build = world.deck.arm, world.build
    if arm.balance is Balance.DYNAMIC:
        return [
            MisleadingControl(
                ROUGH_DOWNFORCE, message("practice.control", what="dial"), world.weight.effect
            )
        ]
    stated = arm.counterweight_mm_per_turn
    if arm.gf_per_turn is not None:
        stated = arm.gf_per_turn * build.middle_mm / build.weight_g
    elif arm.counterweight_g is None:
        stated = None
    if not stated:
        return []
    return [
        MisleadingControl(
            ROUGH_DOWNFORCE,
            message("practice.control", what="counterweight"),
            world.weight.effect / stated,
        )
    ]


def _head(world: World) -> list[MisleadingControl]:
    found = []
    height, tilt = world.deck.height, world.deck.tilt
    if height.control is HeightControl.COLLAR:
        times = world.pillar.effect / height.mm_per_turn
        found.append(
            MisleadingControl(ARM_HEIGHT, message("practice.control", what="pillar_collar"), times)
        )
    if tilt.control is TiltControl.COLLAR:
        found.append(
            MisleadingControl(
                TILT, message("practice.control", what="tilt_collar"), world.roll.effect
            )
        )
    return found


def _trims(world: World) -> list[MisleadingControl]:
    platter = world.deck.platter
    screw = platter.trim is SpeedTrim.SCREW
    stated = platter.rpm_per_turn if screw else platter.rpm_per_step
    if stated is None:
        return []
    found = []
    for key, knob in world.trims.items():
        rpm = next((r for r in platter.speeds_rpm if speed_key(r) == key), None)
        named = message("practice.control", what="trim")
        if key:
            named = message("practice.trim", speed=Name(place_label(key)))
        said = 100.0 * stated / (rpm or platter.speeds_rpm[0])
        found.append(MisleadingControl(SPEED, named, knob.effect / said))
    return found
