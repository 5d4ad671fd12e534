"""The target of an alignment on this deck: distance, arm, and the reach of the head."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from core.fitting import Context, Control, MovePart
from core.language import Message, Quantity, message
from core.physics.alignment_reach import ANYTHING, Edge, Reach, best_for
from core.physics.arm_geometry import ArmGeometry, ParallelArm, PivotedArm, null_radii_mm
from core.physics.groove_radii import GrooveRadii
from core.physics.tracking_distortion import WorstTracking
from core.records import ArmKind, Cartridge, Deck, HeadKind, Mounting
from core.steps.alignment.readings import AlignmentChoices, PivotDistance
from core.steps.shared import Event

MAKERS_OFFSET_U_DEG: Final = 0.5
"""Assumed error of the offset of a head that can't be turned (our estimate)."""

BASE_MOVE_U_MM: Final = 0.3
"""Error of sliding an arm base by hand (our estimate, one standard uncertainty)."""

FURTHEST_PIVOT_MM: Final = 1000.0
"""Longer than any arm."""

_LENGTH_EDGES: Final = (Edge.SHORTEST, Edge.LONGEST)
_LONGEST_MM: Final = 1000.0
_FURTHEST_MOVE: Final = 500.0
_STEEPEST_DEG: Final = 80.0


def head_slides(deck: Deck, cartridge: Cartridge) -> bool:
    """Whether the cartridge can be slid and twisted in the head."""
    return deck.head.kind is HeadKind.SLOTS and cartridge.mounting is not Mounting.PLUG_IN


@dataclass(frozen=True, slots=True)
class Distance:
    """The present distance from pivot to spindle."""

    value_mm: float
    u_mm: float
    measured: int
    """How many times it was measured in this fitting; 0 means the deck's own figure."""


@dataclass(frozen=True, slots=True)
class Aim:
    """The target and everything it depends on.

    Attributes
    ----------
    distance
        None for a parallel arm.
    target, wanted
        The best within reach, and what the chosen rule asks for (of a straight arm: with its
        offset at 0); protractors are drawn for the second.
    held_by
        What keeps the two apart.
    radii_mm
        Where grids stand when a reading leaves the radius out, and where errors are judged: the
        null radii of the rule, or the groove limits of a parallel arm.
    slides, base_slides
        What can be moved.
    needs_twist
        Whether the offset has to be known for a verdict: not on straight arms, nor where the head
        can't be turned.
    best
        Worst error and distortion of the target.
    shortest_mm, longest_mm
        Effective lengths the slots allow.
    """

    distance: Distance | None
    grooves: GrooveRadii
    target: ArmGeometry
    wanted: ArmGeometry
    held_by: tuple[Edge, ...]
    radii_mm: tuple[float, float]
    slides: bool
    base_slides: bool
    needs_twist: bool
    best: WorstTracking
    longest_mm: float = math.inf
    shortest_mm: float = 0.0

    @property
    def grids(self) -> str:
        """The variant of a sentence to use: ``both`` grids, or ``one`` for a single null."""
        return "one" if self.radii_mm[0] == self.radii_mm[1] else "both"

    def arm_off_by(self, length_mm: float, offset_deg: float) -> ArmGeometry:
        """Return the arm whose length and offset differ this much from the target's."""
        if isinstance(self.target, ParallelArm):
            return ParallelArm(self.target.stylus_offset_mm + length_mm, _steep(offset_deg))
        return PivotedArm(
            self.target.pivot_to_spindle_mm,
            min(max(self.target.effective_length_mm + length_mm, 1.0), _LONGEST_MM),
            _steep(self.target.offset_deg + offset_deg),
        )

    def at_distance(self, pivot_to_spindle_mm: float) -> PivotedArm:
        """Return the target with its null radii kept, for another pivot-to-spindle distance."""
        assert isinstance(self.target, PivotedArm)  # noqa: S101 - only pivoted arms have a distance
        return self.target.moved_to_pivot(pivot_to_spindle_mm)


@dataclass(frozen=True, slots=True)
class NoTarget:
    """Why there is no target, and a way of reading that may help; empty if none does."""

    why: Message
    way: str = ""


def _steep(offset_deg: float) -> float:
    return min(max(offset_deg, -_STEEPEST_DEG), _STEEPEST_DEG)


def distance_of(deck: Deck, events: Sequence[Event]) -> Distance:
    """Return the pivot-to-spindle distance now: measured in this fitting, else the deck's figure.

    Several measurements are averaged; each is shifted by later moves of the base.
    """
    stated = deck.arm.pivot_to_spindle_mm
    value = stated if stated is not None else deck.arm.effective_length_mm
    u_mm, measured, total = deck.arm.pivot_to_spindle_error_mm, 0, 0.0
    for event, shift in with_base_shifts(events):
        if shift:
            value += shift
            total += measured * shift
            u_mm = math.hypot(u_mm, BASE_MOVE_U_MM)
        reading = getattr(event, "reading", None)
        if isinstance(reading, PivotDistance):
            measured += 1
            total += reading.distance_mm
            value = total / measured
            u_mm = deck.bench.ruler_read_mm / math.sqrt(measured)
    return Distance(value, u_mm, measured)


def with_base_shifts(events: Sequence[Event]) -> list[tuple[Event, float]]:
    """Pair every event with how far it moved the arm base away from the spindle, mm."""
    return [
        (
            event,
            sum(
                sane_amount(part) or 0.0
                for part in getattr(event, "moves", ())
                if part.control is Control.ARM_BASE
            ),
        )
        for event in events
    ]


def sane_amount(part: MovePart) -> float | None:
    """Return how far a control was moved, None for an impossible amount."""
    return part.amount if abs(part.amount) <= _FURTHEST_MOVE else None


def aim_of(context: Context, chosen: AlignmentChoices, events: Sequence[Event]) -> Aim | NoTarget:
    """Return the target, or what is wrong with its input."""
    deck = context.deck
    slides = head_slides(deck, context.cartridge)
    if deck.arm.kind is ArmKind.PARALLEL:
        grooves = chosen.groove_radii
        return Aim(
            distance=None,
            grooves=grooves,
            target=ParallelArm(),
            wanted=ParallelArm(),
            held_by=(),
            radii_mm=(grooves.inner_mm, grooves.outer_mm),
            slides=slides,
            base_slides=False,
            needs_twist=slides,
            best=WorstTracking(0.0, grooves.inner_mm, 0.0, grooves.inner_mm),
        )
    distance = distance_of(deck, events)
    try:
        return _pivoted(deck, chosen, distance, slides=slides)
    except ValueError:
        return _out_of_reach(deck, chosen, distance)


def _pivoted(deck: Deck, chosen: AlignmentChoices, distance: Distance, *, slides: bool) -> Aim:
    straight = deck.arm.kind is ArmKind.PIVOTED_STRAIGHT
    reach = _reach(deck, slides=slides, straight=straight)
    grooves, rule = chosen.groove_radii, chosen.criterion.solution
    if not slides and not deck.head.base_slides and not straight:
        reach = ANYTHING
    free_length = replace(reach, shortest_mm=0.0, longest_mm=math.inf)
    found = best_for(
        distance.value_mm,
        grooves,
        rule,
        free_length if deck.head.base_slides or not slides else reach,
        chosen.own_nulls,
    )
    if distance.value_mm >= FURTHEST_PIVOT_MM:
        raise ValueError("no such arm")
    radii = null_radii_mm(found.solution_arm)
    wanted, held_by = found.solution_arm, found.held_by
    if straight:
        wanted = best_for(
            distance.value_mm,
            grooves,
            rule,
            Reach(least_offset_deg=0.0, greatest_offset_deg=0.0),
            chosen.own_nulls,
        ).arm
        held_by = tuple(edge for edge in held_by if edge in _LENGTH_EDGES)
        radii = null_radii_mm(found.arm)  # a single null: both grids are the same
    aim = Aim(
        distance=distance,
        grooves=grooves,
        target=found.arm,
        wanted=wanted,
        held_by=held_by,
        radii_mm=(radii[0], radii[-1]) if radii else (grooves.inner_mm, grooves.outer_mm),
        slides=slides,
        base_slides=deck.head.base_slides,
        needs_twist=slides and not straight,
        best=found.worst,
    )
    if slides:
        return replace(aim, shortest_mm=reach.shortest_mm, longest_mm=reach.longest_mm)
    return aim


def _reach(deck: Deck, *, slides: bool, straight: bool) -> Reach:
    arm, head = deck.arm, deck.head
    turn = head.twist_deg if slides else 0.0
    least, greatest = arm.offset_deg - turn, arm.offset_deg + turn
    if straight:
        least = greatest = 0.0
    return Reach(
        arm.effective_length_mm - (head.slot_back_mm if slides else 0.0),
        arm.effective_length_mm + (head.slot_forward_mm if slides else 0.0),
        least,
        greatest,
    )


def _out_of_reach(deck: Deck, chosen: AlignmentChoices, distance: Distance) -> NoTarget:
    pivot = Quantity(distance.value_mm, "mm", 1)
    if distance.value_mm <= chosen.groove_radii.outer_mm:
        again = message("alignment.no_target.over_grooves", distance=pivot)
        return NoTarget(again, "pivot distance")
    if chosen.own_nulls is not None and distance.value_mm <= chosen.own_nulls.outer_mm:
        return NoTarget(message("alignment.no_target.outer_null", distance=pivot))
    length = Quantity(deck.arm.effective_length_mm, "mm", 1)
    why = message("alignment.no_target.misses_inner", length=length, distance=pivot)
    return NoTarget(why)


def pivot_for(deck: Deck, chosen: AlignmentChoices, aim: Aim, length_mm: float) -> float | None:
    """Return the pivot's distance from the spindle for a length that stays fixed.

    D^2 = L^2 - r1 r2 with the target's product of null radii. Where the head can't be turned that
    product itself depends slightly on D, so the target is computed again there; each round leaves
    about a fifth of the previous error.
    """
    if not isinstance(aim.target, PivotedArm) or aim.distance is None:
        return None
    product, pivot = aim.target.null_product_mm2, aim.distance.value_mm
    straight = deck.arm.kind is ArmKind.PIVOTED_STRAIGHT
    reach = _reach(deck, slides=aim.slides, straight=straight)
    free_length = replace(reach, shortest_mm=0.0, longest_mm=math.inf)
    for rounds_left in (2, 1, 0):
        squared = length_mm**2 - product
        if not 0.0 < squared < FURTHEST_PIVOT_MM**2:
            return None
        before, pivot = pivot, math.sqrt(squared)
        if aim.slides or not rounds_left or abs(pivot - before) < 0.05:
            break
        try:
            found = best_for(
                round(pivot, 1),
                aim.grooves,
                chosen.criterion.solution,
                free_length,
                chosen.own_nulls,
            )
        except ValueError:
            break
        product = found.arm.null_product_mm2
    return pivot
