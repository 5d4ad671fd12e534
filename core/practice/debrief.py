"""The end of a rehearsal: the hidden truth beside what was achieved and what was said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.fitting import Fitting, Journey, ReadingTaken, StepState, StepStatus, Verdict
from core.language import Numbers, step_text
from core.practice.rehearsal import Rehearsal
from core.practice.saved_rehearsals import choices_from
from core.practice.truth import Truth
from core.practice.world import World
from core.records import Balance, HeightControl, SpeedTrim, TiltControl
from core.steps import STEP_NAMES
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
    title: str
    before: Truth | None
    after: Truth | None
    said: str
    judgement: str
    was_true: bool | None


def debrief_of(
    fresh: Rehearsal, rehearsal: Rehearsal, journey: Journey, numbers: Numbers
) -> tuple[StepDebrief, ...]:
    """Return how every step ended; `fresh` is the same deck with nothing moved yet."""
    _read_the_same(fresh, journey.fitting)
    return tuple(_of_step(fresh, rehearsal, journey.status(s), numbers) for s in STEP_NAMES)


def _read_the_same(fresh: Rehearsal, fitting: Fitting) -> None:
    """Read once by every way that was used: truth is told in the terms of the last one."""
    for entry in fitting.counting():
        body = entry.body
        if isinstance(body, ReadingTaken):
            way = str(body.reading.get("way", ""))
            if way in fresh.ways(body.step):
                chosen = choices_from(fresh, body.step, way, body.reading)
                fresh.instrument(body.step, way, **chosen)


def _of_step(
    fresh: Rehearsal, rehearsal: Rehearsal, status: StepStatus, numbers: Numbers
) -> StepDebrief:
    step = status.step
    before, after = fresh.truth_of(step), rehearsal.truth_of(step)
    said, judgement, was_true = _judged(status, after, numbers)
    return StepDebrief(step, step_text(step).title, before, after, said, judgement, was_true)


def _judged(
    status: StepStatus, truth: Truth | None, numbers: Numbers
) -> tuple[str, str, bool | None]:
    verdict = status.assessment.verdict
    said = (
        status.assessment.shown_verdict.label
        if status.state is StepState.DONE
        else status.state.label
    )
    truly = "" if truth is None else f"In truth it is {_how_far(truth, numbers)}."
    if not status.is_settled:
        return said, f"Not finished. {truly}".strip(), None
    if status.state is StepState.KEPT:
        return said, f"Kept by your own choice. {truly}".strip(), None
    if truth is None:
        return said, "Nothing here can be right or wrong.", None
    return (said, *_claimed(verdict, truth, truly))


def _claimed(verdict: Verdict, truth: Truth, truly: str) -> tuple[str, bool | None]:
    if verdict is Verdict.GOOD:
        return "That is true." if truth.is_inside else f"Not so. {truly}", truth.is_inside
    if verdict is not Verdict.LEFT_AS_FOUND:
        return f"Nothing was claimed. {truly}", None
    if truth.is_inside:
        return "It truly is near enough all the same.", None
    return f"So it is. {truly}", True


def _how_far(truth: Truth, numbers: Numbers) -> str:
    if truth.is_inside:
        return "near enough"
    return f"off by {numbers.plain(truth.ratio, 1)} times the tolerance"


@dataclass(frozen=True, slots=True)
class MisleadingControl:
    """A control that does something else than is said of it.

    ``times`` is what it does over what is said; below 0 it works the other way round.
    """

    step: str
    control: str
    times: float

    def sentence(self, numbers: Numbers) -> str:
        """Return it in words."""
        much = f"{numbers.plain(abs(self.times), 2)} times what is said of it"
        if self.times < 0.0:
            return f"{self.control}: it works the other way round, and does {much}."
        return f"{self.control}: it does {much}."


def misleading_controls(world: World) -> tuple[MisleadingControl, ...]:
    """Return the controls that do otherwise than stated, and by how much."""
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
        return [MisleadingControl("level", "Every foot", next(iter(times.values())))]
    return [MisleadingControl("level", f"Foot, {name}", one) for name, one in times.items()]


def _weight(world: World) -> list[MisleadingControl]:
    arm, build = world.deck.arm, world.build
    if arm.balance is Balance.DYNAMIC:
        return [MisleadingControl("rough_downforce", "Downforce dial", world.weight.effect)]
    stated = arm.counterweight_mm_per_turn
    if arm.gf_per_turn is not None:
        stated = arm.gf_per_turn * build.middle_mm / build.weight_g
    elif arm.counterweight_g is None:
        stated = None
    if not stated:
        return []
    return [MisleadingControl("rough_downforce", "Counterweight", world.weight.effect / stated)]


def _head(world: World) -> list[MisleadingControl]:
    found = []
    height, tilt = world.deck.height, world.deck.tilt
    if height.control is HeightControl.COLLAR:
        times = world.pillar.effect / height.mm_per_turn
        found.append(MisleadingControl("arm_height", "Collar of the pillar", times))
    if tilt.control is TiltControl.COLLAR:
        found.append(MisleadingControl("tilt", "Tilt collar", world.roll.effect))
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
        named = f"Speed trim, {place_label(key)}" if key else "Speed trim"
        said = 100.0 * stated / (rpm or platter.speeds_rpm[0])
        found.append(MisleadingControl("speed", named, knob.effect / said))
    return found
