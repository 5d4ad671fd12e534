"""A practice deck whose cartridge is exchanged: the smallest thing a whole swap needs."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from copy import deepcopy
from dataclasses import dataclass, replace
from datetime import timedelta
from unittest.mock import patch

import numpy as np

from core.fitting import Control, Entry, Finished, Fitting, Planned
from core.practice import Difficulty, Rehearsal, new_rehearsal
from core.practice.grooves import wanted_for
from core.practice.invented_decks import invent_cartridge
from core.practice.knob import Knob
from core.practice.proof.closed_loop import DeckRun, Loop
from core.practice.proof.person import Person
from core.records import ArmKind, Balance, Cartridge, HeadKind, Mounting, SkatingControl
from core.steps.shared.swap_part import HEIGHT_U_MM, MASS_LEAST_G, MASS_SHARE, TIP_U_MM
from core.swap import Past, SwapPlan, compare, plan_swap
from core.workflow import journey_of

DAYS_BETWEEN = 400


@dataclass(slots=True)
class Owner:
    """One practice deck over the years: every cartridge is fitted by the same hands."""

    seed: int
    number: int
    rehearsal: Rehearsal
    rng: np.random.Generator
    pasts: list[Past]
    runs: list[DeckRun]

    @classmethod
    def of(cls, seed: int, number: int, difficulty: Difficulty) -> Owner:
        """Begin with the first cartridge in."""
        rehearsal = new_rehearsal(seed, difficulty, number=number)
        rng = np.random.default_rng(np.random.SeedSequence((seed, number, 77)))
        return cls(seed, number, rehearsal, rng, [], [])

    def fit(self, planned: Planned | None = None) -> Past:
        """Fit what is in, to the end, as the harness does."""
        person = Person.drawn(np.random.default_rng((self.seed, self.number, 3)))
        loop = Loop(self.rehearsal, person, number=self.number)
        if planned is not None:
            entry = Entry(id="plan", at=loop.fitting.started_at, body=planned)
            loop.fitting = loop.fitting.with_entry(entry)
        self.runs.append(loop.play())
        fitting = self._dated(loop.fitting)
        deck, cartridge = self.rehearsal.deck, self.rehearsal.cartridge
        past = Past(fitting, 1, 1, journey_of(deck, cartridge, fitting))
        self.pasts.append(past)
        return past

    def _dated(self, fitting: Fitting) -> Fitting:
        count = len(self.pasts)
        later = timedelta(days=DAYS_BETWEEN * count)
        entries = [e.model_copy(update={"at": e.at + later}) for e in fitting.entries]
        if entries:
            end = Entry(id="end", at=entries[-1].at, body=Finished())
            entries.append(end)
        return fitting.model_copy(
            update={
                "id": f"fitting {count}",
                "cartridge_id": self.rehearsal.cartridge.name,
                "started_at": fitting.started_at + later,
                "entries": tuple(entries),
            }
        )

    def plan(self, new: Cartridge) -> SwapPlan:
        """Plan for another cartridge from the last fitting."""
        return plan_swap(
            self.rehearsal.deck, self.pasts[-1], new, self.pasts, new_cartridge_id=new.name
        )

    def invent(self) -> Cartridge:
        """Return another cartridge that this head takes."""
        return invent_cartridge(self.rng, self.rehearsal.deck).model_copy(
            update={"name": f"cartridge {len(self.pasts)}"}
        )

    def swap(self, new: Cartridge, plan: SwapPlan) -> None:
        """Put it in and move every control as the plan says."""
        exchange(self.rehearsal, new, self.rng)
        self.rehearsal.obey(start.part for start in plan.starts if start.part is not None)


def exchange(rehearsal: Rehearsal, new: Cartridge, rng: np.random.Generator) -> None:
    """Take one cartridge out and screw another in where the first had its holes.

    What makers state of the new one is true to within what the plan allows for; how it leans and
    how its tip stands is its own. Shims and plates of the old one come out with it.
    """
    world = rehearsal.world
    build, old = world.build, world.cartridge
    mass = new.mass_g + max(MASS_LEAST_G, MASS_SHARE * new.mass_g) * _draw(rng) + new.hardware_g
    height = new.body_height_mm + HEIGHT_U_MM * _draw(rng)
    tip = new.tip_to_holes_mm + TIP_U_MM * _draw(rng)
    ahead = tip - build.holes_to_tip_mm
    if Mounting.PLUG_IN in (old.mounting, new.mounting):
        tip, ahead = build.holes_to_tip_mm, 0.25 * _draw(rng)
    arm = rehearsal.deck.arm
    slots = world.slides and rehearsal.deck.head.kind is HeadKind.SLOTS
    world.build = replace(
        build,
        middle_mm=build.middle_mm + (0.0 if slots else ahead),
        middle_deg=build.middle_deg + 0.4 * _draw(rng),
        holes_to_tip_mm=tip,
        body_height_mm=height,
        body_width_mm=new.body_width_mm,
        bearing_mm=build.bearing_mm + build.body_height_mm - height,
        body_roll_deg=_draw(rng),
        gives_um_per_mn=0.5 * (new.compliance or 12.0),
        head_g=mass,
    )
    world.cartridge = rehearsal.cartridge = new
    if slots:
        slide = world.slide
        slide.low, slide.high = slide.low + ahead, slide.high + ahead
        slide.place = min(max(slide.place + ahead + 0.25 * _draw(rng), slide.low), slide.high)
        twist = world.twist
        twist.place = min(max(twist.place + 0.8 * _draw(rng), twist.low), twist.high)
    for name in ("head_shim", "side_shim", "added_g"):
        knob: Knob = getattr(world, name)
        knob.place = 0.0
    if arm.balance is Balance.DYNAMIC:
        _balance_afresh(rehearsal, 0.05 * _draw(rng))


def _balance_afresh(rehearsal: Rehearsal, left_gf: float) -> None:
    """Float the arm with the dial at 0, as nearly as an eye sees it."""
    world = rehearsal.world
    dial, world.weight.place = world.weight.place, 0.0
    arm_g, length = world.build.arm_g, world.build.middle_mm
    forward = world.build.arm_forward_mm + (left_gf - world.downforce_gf) * length / arm_g
    world.build = replace(world.build, arm_forward_mm=forward)
    world.weight.place = dial


def _reach_as_reckoned(rehearsal: Rehearsal) -> float:
    """Return the effective length for the pivot-to-spindle distance on the deck's record.

    A protractor tells how far the tip is from where it belongs, not where the pivot is.
    """
    world, arm = rehearsal.world, rehearsal.deck.arm
    straight = arm.kind is ArmKind.PIVOTED_STRAIGHT
    stated = arm.pivot_to_spindle_mm or 0.0
    true = wanted_for(round(world.swing().pivot_mm, 6), straight=straight).reach_mm
    return world.pose().reach_mm - true + wanted_for(stated, straight=straight).reach_mm


def _draw(rng: np.random.Generator) -> float:
    return max(-2.5, min(2.5, float(rng.standard_normal())))


def truths(rehearsal: Rehearsal) -> dict[tuple[str, str], float]:
    """Return what every step would read, had it no error, by step and figure."""
    world = rehearsal.world
    pose = world.pose()
    found = {
        ("level", "tilt"): float(np.hypot(*world.slope())),
        ("mount", "head_mass"): world.build.head_g,
        ("rough_downforce", "downforce"): max(world.downforce_gf, 0.0),
        ("arm_height", "pillar"): -rehearsal.deck.arm.effective_length_mm
        * float(np.tan(np.radians(pose.pitch_deg))),
        ("tilt", "tilt"): pose.tilt_deg,
    }
    if world.is_parallel:
        found["alignment", "slide"] = world.ahead_of_radius_mm()
        found["alignment", "twist"] = -world.head_out_deg()
    else:
        found["alignment", "effective_length"] = _reach_as_reckoned(rehearsal)
        found["alignment", "offset"] = pose.offset_deg
    label = next(iter(world.speeds))
    nominal = rehearsal.deck.platter.speeds_rpm[0]
    key = f"speed_error_{int(nominal)}"
    found["speed", key] = 100.0 * (world.rpm(label) / nominal - 1.0)
    if rehearsal.deck.skating.control is SkatingControl.DIAL and world.skating_gf_per_mark > 0.0:
        balanced = world.mean_side_force_gf() / world.skating_gf_per_mark
        target = rehearsal.cartridge.downforce_target_gf
        found["skating", "setting"] = balanced * target / max(world.downforce_gf, 0.1)
    return found


@dataclass(slots=True)
class Landed:
    """Predictions of plans against the truth and against what was then read."""

    true: dict[tuple[str, str], list[bool]]
    read: dict[tuple[str, str], list[bool]]

    @staticmethod
    def share(of: dict[tuple[str, str], list[bool]]) -> float:
        """Return how many of them all landed inside their 95 % interval."""
        every = [inside for values in of.values() for inside in values]
        return sum(every) / len(every)


def land(seed: int, count: int, difficulty: Difficulty) -> Landed:
    """Swap cartridges on so many practice decks, and see where the plans' predictions land."""
    landed = Landed({}, {})
    for number in range(count):
        owner = Owner.of(seed, number, difficulty)
        owner.fit()
        new = owner.invent()
        plan = owner.plan(new)
        owner.swap(new, plan)
        found = truths(owner.rehearsal)
        for start in plan.starts:
            place = (start.step, start.key)
            if start.predicted is None or start.half_width is None or place not in found:
                continue
            inside = abs(found[place] - start.predicted) <= start.half_width
            landed.true.setdefault(place, []).append(inside)
        for told in compare(owner.fit(plan.planned()).journey):
            if told.error is None:
                continue
            room = np.hypot(told.half_width or 0.0, told.found_half_width or 0.0)
            landed.read.setdefault((told.step, told.key), []).append(bool(abs(told.error) <= room))
    return landed


TAUGHT = {
    "level": Control.FOOT,
    "rough_downforce": Control.COUNTERWEIGHT,
    "final_downforce": Control.COUNTERWEIGHT,
    "arm_height": Control.PILLAR,
    "tilt": Control.TILT,
    "speed": Control.SPEED,
}
"""Steps whose control has a gain to learn."""


def cycles(seed: int, count: int, difficulty: Difficulty) -> tuple[int, int, int]:
    """Fit a third cartridge with what two taught, and with what is stated only.

    Returns
    -------
    (int, int, int)
        Decks with a control that misleads and was learned, and the moves-and-readings cycles of
        those steps with learned and with stated gains; everything else is the same.
    """
    decks, learned, stated = 0, 0, 0
    for number in range(count):
        owner = Owner.of(seed, number, difficulty)
        if not owner.rehearsal.misleading:
            continue
        owner.fit()
        second = owner.invent()
        owner.swap(second, owner.plan(second))
        owner.fit()
        third = owner.invent()
        plan = owner.plan(third)
        known = {gain.control for gain in plan.gains}
        steps = [s for s in owner.rehearsal.misleading if TAUGHT.get(s) in known]
        if not steps:
            continue
        decks += 1
        plain = deepcopy(owner)
        learned += _cycles_of(owner, third, plan, steps)
        with _nothing_learned():
            bare = plain.plan(third)
        stated += _cycles_of(plain, third, bare, steps)
    return decks, learned, stated


@contextmanager
def _nothing_learned() -> Iterator[None]:
    """Plan as if no move of the earlier fittings were on record."""
    with (
        patch("core.swap.plan.learned_gains", lambda *_: ()),
        patch("core.steps.downforce.swap.samples_from", lambda *_: []),
        patch("core.steps.arm_height.swap.samples_from", lambda *_: []),
    ):
        yield


def _cycles_of(owner: Owner, new: Cartridge, plan: SwapPlan, steps: list[str]) -> int:
    owner.swap(new, plan)
    owner.fit(plan.planned())
    return sum(owner.runs[-1].steps[step].cycles for step in steps)
