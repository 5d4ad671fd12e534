"""Whole fittings with no person: the practice deck is asked, the wizard fed, its moves obeyed."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np

from core.fitting import (
    FLOATED_ANEW,
    Assessment,
    Body,
    Context,
    Control,
    ControlChecked,
    Entry,
    Fitting,
    Journey,
    MoveMade,
    MovePart,
    Question,
    Reading,
    ReadingTaken,
    StepAccepted,
    StepState,
    StepStatus,
    Verdict,
    Withdrawn,
)
from core.language import Numbers
from core.practice.faults import Difficulty, hold_fast
from core.practice.proof.baseline import COMPARED, BaselineHand
from core.practice.proof.person import Person
from core.practice.proof.slips import ANSWERS_TRUTHFULLY, Slip, Slips, drawn_held, with_a_vial
from core.practice.rehearsal import Rehearsal, new_rehearsal
from core.practice.truth import strict_ratio, tilt_truth
from core.steps import (
    ALIGNMENT,
    FINAL_DOWNFORCE,
    ROUGH_DOWNFORCE,
    SKATING,
    SPEED,
    STEP_NAMES,
    TILT,
    Step,
    step_named,
    ways_of,
)
from core.workflow import journey_of, why_refused, why_shut

STYLUS_IN_DANGER: Final = 1.5
"""Times the maker's maximum: above it no stylus may be lowered (house rule, practice)."""

MOST_READINGS: Final = 36
MOST_MOVES: Final = 20
MOST_ENTRIES: Final = 320
"""A step, or a fitting, that takes more is said never to end."""

_SAY: Final = Numbers()
"""Writes what is kept for whoever looks into a run; nothing reads it back."""

_BEGAN: Final = datetime(2025, 1, 1, tzinfo=UTC)


@dataclass(slots=True)
class StepRun:
    """What happened in one step of one fitting."""

    step: str
    cycles: int = 0
    readings: int = 0
    moves: int = 0
    questions: int = 0
    verdict: Verdict | None = None
    headline: str = ""
    """The key of the sentence it was accepted with."""
    never_ended: bool = False
    stuck_at: str = ""
    false_alarm: bool = False
    accepted_ratio: float | None = None
    final_ratio: float | None = None
    strict_ratio: float | None = None
    from_least_leak_deg: float | None = None
    """Of tilt: how far the head stands from where least leaks, whatever way it was read."""
    sent_back: int = 0
    sent_back_needed: int = 0


@dataclass(frozen=True, slots=True)
class Compared:
    """One step whose control misleads: the wizard beside trial and error on the same deck.

    Each has the cycles, and how far off it really was when called good (None if it never was):
    `plain` is held to the wizard's own word for good, `early` stops at the first reading inside.
    """

    step: str
    wizard: tuple[int, float | None]
    plain: tuple[int, float | None]
    early: tuple[int, float | None]


@dataclass(slots=True)
class DeckRun:
    """What happened in one fitting."""

    number: int
    steps: dict[str, StepRun]
    misleading: frozenset[str]
    unsafe_prompts: int = 0
    unsafe_at: str = ""
    entries: int = 0
    ended: bool = True
    gated: str = ""
    """The step at which it honestly ended: the stylus stays up, for downforce can't be set."""
    trouble: str = ""
    compared: tuple[Compared, ...] = ()
    slips: tuple[Slip, ...] | None = None
    """What the person got wrong; None where they err in nothing."""
    held: str = ""
    unsafe_orders: int = 0
    """Orders that, done as given, put the downforce above the stop limit, after the first: nobody
    can know beforehand of a thread that turns the other way round."""
    unsafe_hands: int = 0
    """Moves made otherwise than ordered that did, and styluses lowered after one of them."""
    log: list[str] = field(default_factory=list)


class Memory:
    """Remembers what steps answered, as long as nothing they look at has changed.

    A step looks at its own trials, at moves that other steps made before the last of them, and at
    what earlier steps found. The two downforce steps look at each other's weighings and at all
    moves.
    """

    def __init__(self) -> None:
        self._answers: dict[str, tuple[object, Assessment]] = {}

    def assess(self, step: Step, context: Context) -> Assessment:
        """Return the step's answer, remembered or new."""
        key = self._key(context)
        known = self._answers.get(step.NAME)
        if known is not None and known[0] == key:
            return known[1]
        answer = step.assess(context)
        self._answers[step.NAME] = key, answer
        return answer

    def copy(self) -> Memory:
        """Return another that remembers the same."""
        other = Memory()
        other._answers = dict(self._answers)
        return other

    def _key(self, context: Context) -> object:
        own = context.trials
        last = own[-1].at if own else None
        everything = "downforce" in context.step
        foreign = tuple(
            (trial.entry_id, trial.moves)
            for step, trials in context.log.items()
            if step != context.step
            for trial in trials
            if (everything and (trial.moves or "downforce" in step))
            or (trial.moves and last is not None and trial.at is not None and trial.at <= last)
        )
        figures: tuple[float | None, ...] = ()
        if context.step == SKATING:
            figures = (
                context.figure(ROUGH_DOWNFORCE, "downforce"),
                context.figure(ALIGNMENT, "effective_length"),
            )
        return tuple((trial.entry_id, trial.moves) for trial in own), foreign, figures


class Loop:
    """One fitting from the first reading to the last acceptance."""

    def __init__(
        self,
        rehearsal: Rehearsal,
        person: Person,
        *,
        number: int = 0,
        told: bool = False,
        plain: BaselineHand | None = None,
        slips: Slips | None = None,
    ) -> None:
        self.rehearsal, self.person, self.told = rehearsal, person, told
        self.plain, self.slips = plain, slips
        self._by_hand = self._weight_moved = False
        self.fitting = Fitting(
            id="practice",
            deck_id="d",
            deck_revision=1,
            cartridge_id="c",
            cartridge_revision=1,
            started_at=_BEGAN,
        )
        self.run = DeckRun(
            number, {name: StepRun(name) for name in STEP_NAMES}, rehearsal.misleading
        )
        self._moved: dict[str, set[str]] = {name: set() for name in STEP_NAMES}
        self._cycles: dict[tuple[str, str], int] = {}
        self._back: set[str] = set()
        self.memory = Memory()
        self.fork_at: frozenset[str] = frozenset()
        self.fork: Loop | None = None
        self.until = ""

    def copy(self, plain: BaselineHand | None = None) -> Loop:
        """Return the fitting as it stands, to be played on by another hand."""
        kept = (self.rehearsal.deck, self.rehearsal.cartridge, self.fitting, self.memory)
        other = deepcopy(self, {id(thing): thing for thing in kept})
        other.plain, other.memory, other.fork_at = plain, self.memory.copy(), frozenset()
        return other

    def play(self) -> DeckRun:
        """Play it through, or until the step `until` is due.

        A copy is kept from when a step of `fork_at` is first due.
        """
        run = self.run
        journey = self._journey()
        while run.entries < MOST_ENTRIES:
            self._watch_the_gate(journey)
            self._watch_sent_back(journey)
            due = journey.due
            if due is None or due == self.until:
                break
            if self.fork is None and due in self.fork_at:
                self.fork = self.copy()
            if not self._advance(journey, due):
                run.ended = bool(run.gated)
                break
            journey = self._journey()
        else:
            run.ended = False
        self._close(journey)
        return run

    def _journey(self) -> Journey:
        return journey_of(
            self.rehearsal.deck,
            self.rehearsal.cartridge,
            self.fitting,
            assess=self.memory.assess,
        )

    def _keep(self, body: Body, journey: Journey) -> bool:
        refusal = why_refused(journey, body)
        if refusal is not None:
            self.run.trouble = _SAY.text(refusal)
            return False
        self.run.entries += 1
        at = _BEGAN + timedelta(minutes=self.run.entries)
        entry = Entry(id=f"e{self.run.entries}", at=at, body=body)
        self.fitting = self.fitting.with_entry(entry)
        return True

    def _advance(self, journey: Journey, due: str) -> bool:
        status, step = journey.status(due), self.run.steps[due]
        verdict, move = status.assessment.verdict, status.assessment.next_move
        if self.plain is not None and self.plain.early and due in self.plain.steps:
            done = self._leave_early(journey, status, self.plain)
            if done is not None:
                return done
        wrong = self._looked_at(status)
        if wrong is not None or status.assessment.questions:
            return (
                self._answer(journey, status) if wrong is None else self._put_right(journey, wrong)
            )
        if step.readings >= MOST_READINGS or step.moves >= MOST_MOVES:
            return self._give_up(journey, status)
        again = status.state is StepState.CHECK_AGAIN
        if verdict.passes and not again and not self.person.wants_more(journey, due):
            return self._accept(journey, status)
        if verdict in (Verdict.MOVE, Verdict.STOP) and not again and move and move.parts:
            return self._obey(journey, due, self._wanted(status, move.parts))
        own = () if again else self.person.own_move(journey, due)
        return self._obey(journey, due, own) if own else self._read(journey, due)

    def _answer(self, journey: Journey, status: StepStatus) -> bool:
        """Say that everything asked about a control was looked at."""
        asked = status.assessment.questions[0]
        if asked.pairs:
            return self._say_which(journey, status, asked)
        reversed_entry = ""
        if self.slips is not None and self.slips.chance(ANSWERS_TRUTHFULLY):
            for slip in self.slips.open_in(status.step, asked.entry):
                if not slip.turned_round:
                    return self._put_right(journey, slip)
                if slip.entry == asked.entry:
                    slip.caught, reversed_entry = True, slip.entry
                    break
        if asked.where == FLOATED_ANEW:
            self.rehearsal.world.float_and_set(0.0)
        checked = ControlChecked(
            control=asked.control, where=asked.where, reversed_entry=reversed_entry
        )
        body = ReadingTaken(step=status.step, reading=checked.model_dump(mode="json"))
        self.run.steps[status.step].questions += 1
        round_it = ", it went the other way" if reversed_entry else ""
        looked = f"{status.step}: looked at the {asked.control} {asked.where}".rstrip()
        self._say(looked + round_it)
        return self._keep(body, journey)

    def _say_which(self, journey: Journey, status: StepStatus, asked: Question) -> bool:
        """Say in which reading two figures changed places, or that all are right as typed."""
        told: dict[str, object] = {"as_read": asked.pairs[-1].entries[0]}
        if self.slips is not None and self.slips.chance(ANSWERS_TRUTHFULLY):
            for slip in self.slips.open_in(status.step):
                pair = next((one for one in asked.pairs if slip.entry in one.entries), None)
                if pair is not None and pair.fields:
                    slip.caught = True
                    told = {"exchanged": pair.entries, "fields": pair.fields}
                    break
        answer = ControlChecked(control=asked.control).model_copy(update=told)
        self.run.steps[status.step].questions += 1
        self._say(f"{status.step}: asked about readings, {told}")
        body = ReadingTaken(step=status.step, reading=answer.model_dump(mode="json"))
        return self._keep(body, journey)

    def _put_right(self, journey: Journey, slip: Slip) -> bool:
        """Withdraw an entry that is wrong, and turn back what was turned by mistake."""
        slip.caught = True
        self.rehearsal.obey(part.turned_round() for part in slip.done)
        self._say(f"{slip.step}: withdrew {slip.entry}, {slip.words}")
        return self._keep(Withdrawn(entry=slip.entry), journey)

    def _looked_at(self, status: StepStatus) -> Slip | None:
        """Return the wrong reading that the program asks about, None if it asks about none."""
        said = status.assessment
        if self.slips is None or said.questions or "doubt" not in said.headline.key:
            return None
        wrong = [s for s in self.slips.open_in(status.step) if not s.turned_round and not s.done]
        return wrong[0] if wrong and self.slips.chance(ANSWERS_TRUTHFULLY) else None

    def _read(self, journey: Journey, due: str, speed: str = "") -> bool:
        shown = self.person.read(self.rehearsal, journey, due, speed)
        typed, slip = dict(shown.values), None
        if self.slips is not None:
            typed, slip = self.slips.typed(due, typed)
        kept = self._keep(ReadingTaken(step=due, reading=typed), journey)
        if slip is not None:
            slip.entry, slip.caught = f"e{self.run.entries}" if kept else "", not kept
            self._say(f"{due}: typed {slip.words}" + ("" if kept else ", refused"))
            if not kept:
                typed = dict(shown.values)
                kept = self._keep(ReadingTaken(step=due, reading=typed), journey)
        if not kept:
            if why_shut(journey, due, shown.way) is None:
                return False
            return not self._gated(journey, due) and self._weigh_first(journey)
        step = self.run.steps[due]
        step.readings += 1
        for where in self._moved[due]:
            self._cycles[due, where] = self._cycles.get((due, where), 0) + 1
        self._moved[due].clear()
        self._say(f"{due}: read {typed}")
        return True

    def _wanted(self, status: StepStatus, parts: tuple[MovePart, ...]) -> tuple[MovePart, ...]:
        if self.plain is None or status.step not in self.plain.steps:
            return parts
        return tuple(self.plain.instead(status.step, part, status.assessment) for part in parts)

    def _leave_early(
        self, journey: Journey, status: StepStatus, plain: BaselineHand
    ) -> bool | None:
        """Do as somebody does who takes one reading for the truth; None where it tells nothing."""
        due = status.step
        trials = [trial for trial in status.trials if trial.checked is None]
        by_the_wizard = (
            not trials
            or self.run.steps[due].moves >= MOST_MOVES
            or status.state is StepState.CHECK_AGAIN
            or status.assessment.verdict is Verdict.STOP
        )
        if by_the_wizard:
            return None
        if trials[-1].reading is None:
            moved = trials[-1].moves[-1].where if due == SPEED else ""
            return self._read(journey, due, moved)
        seen = plain.seen(trials[-1].reading, due)
        if seen is None:
            return None
        if not seen.is_inside:
            return self._obey(journey, due, (plain.own(due, seen),))
        unread = self.person.unread(journey, due)
        if unread:
            return self._read(journey, due, unread)
        return self._accept(journey, status, reason="The reading is inside.")

    def _gated(self, journey: Journey, due: str) -> bool:
        """Whether the downforce was left as found, so that no stylus may be lowered at all."""
        left = any(
            journey.status(name).assessment.verdict is Verdict.LEFT_AS_FOUND
            for name in (ROUGH_DOWNFORCE, FINAL_DOWNFORCE)
        )
        if left:
            self.run.gated, self.run.trouble = due, ""
        return left

    def _weigh_first(self, journey: Journey) -> bool:
        """Do what the gate asks for: the scale, before a stylus is lowered, and what follows."""
        self.run.trouble = ""
        final = bool(journey.status(FINAL_DOWNFORCE).trials)
        weighing = FINAL_DOWNFORCE if final else ROUGH_DOWNFORCE
        status = journey.status(weighing)
        move, verdict = status.assessment.next_move, status.assessment.verdict
        if status.state is StepState.CHECK_AGAIN:
            return self._read(journey, weighing)
        if status.assessment.questions:
            return self._answer(journey, status)
        if verdict in (Verdict.MOVE, Verdict.STOP) and move and move.parts:
            return self._obey(journey, weighing, self._wanted(status, move.parts))
        return self._read(journey, weighing)

    def _obey(self, journey: Journey, due: str, parts: tuple[MovePart, ...]) -> bool:
        step = self.run.steps[due]
        truth = self.rehearsal.truth_of(due)
        adjusts = {
            part.where if part.control is Control.SPEED else ""
            for part in parts
            if part.control is not Control.SCREWS
        }
        if adjusts and truth is not None and truth.is_inside:
            step.false_alarm = True
        entered = done = parts
        if self.slips is not None:
            deck, world = self.rehearsal.deck, self.rehearsal.world
            entered, done, slip = self.slips.moved(due, parts, deck, world)
            if slip is not None:
                slip.entry = f"e{self.run.entries + 1}"
                self._say(f"{due}: turned {slip.words}")
        if not self._keep(MoveMade(step=due, parts=entered), journey):
            return False
        self._watch_the_hand(parts, done)
        step.moves += 1
        self._moved[due] |= adjusts
        words = ", ".join(f"{p.control} {p.where} {p.amount:.4g} {p.unit}" for p in parts)
        self._say(f"{due}: moved {words}")
        return True

    def _accept(self, journey: Journey, status: StepStatus, reason: str = "") -> bool:
        step, assessment = self.run.steps[status.step], status.assessment
        reason = reason if not assessment.verdict.passes else ""
        body = StepAccepted(
            step=status.step,
            verdict=assessment.verdict,
            reason=reason,
        )
        if not self._keep(body, journey):
            return False
        truth = self.rehearsal.truth_of(status.step)
        step.verdict, step.headline = assessment.verdict, assessment.headline.key
        step.accepted_ratio = truth.ratio if truth is not None else None
        left = assessment.verdict is Verdict.LEFT_AS_FOUND
        if left and truth is not None and truth.is_inside:
            step.false_alarm = True
        self._say(f"{status.step}: accepted '{_SAY.text(assessment.headline)}', truth {truth}")
        return True

    def _give_up(self, journey: Journey, status: StepStatus) -> bool:
        """Keep what the wizard brings to no end, so that the rest is seen too."""
        step = self.run.steps[status.step]
        if step.never_ended:
            return False
        step.never_ended = True
        step.stuck_at = _SAY.text(status.assessment.headline)
        return self._accept(journey, status, reason="It came to no end.")

    def _watch_the_gate(self, journey: Journey) -> None:
        if self.rehearsal.downforce_gf <= self._limit_gf:
            self._by_hand = False
            return
        if journey.gate.is_open or self._asks_to_lower(journey):
            if self._by_hand:
                self.run.unsafe_hands += 1
            else:
                self.run.unsafe_prompts += 1
            self.run.unsafe_at = f"{journey.due} at {self.rehearsal.downforce_gf:.2f} gf"

    @property
    def _limit_gf(self) -> float:
        return STYLUS_IN_DANGER * self.rehearsal.cartridge.downforce_max_gf

    def _watch_the_hand(self, ordered: tuple[MovePart, ...], done: tuple[MovePart, ...]) -> None:
        """Make the move; see whether the order, or the hand against it, went above the limit."""
        limit, before = self._limit_gf, self.rehearsal.downforce_gf
        if done != ordered:
            exact = deepcopy(self.rehearsal)
            exact.obey(ordered)
            by_order = exact.downforce_gf
            self.rehearsal.obey(done)
        else:
            self.rehearsal.obey(done)
            by_order = self.rehearsal.downforce_gf
        after = self.rehearsal.downforce_gf
        first = not self._weight_moved
        self._weight_moved |= any(part.control is Control.COUNTERWEIGHT for part in done)
        if by_order > max(limit, before + 1e-3) and not first:
            self.run.unsafe_orders += 1
            self._say(f"ordered {before:.2f} to {by_order:.2f} gf")
        if after > max(limit, before + 1e-3) and done != ordered:
            self.run.unsafe_hands += 1
            self._by_hand = True
            self._say(f"turned {before:.2f} to {after:.2f} gf against the order")

    def _asks_to_lower(self, journey: Journey) -> bool:
        due = journey.due
        if due is None:
            return False
        ways = ways_of(step_named(due))
        usual = journey.status(due).applicability.ways[:1]
        lowers = any(_lowers(ways[way]) for way in usual if way in ways)
        open_way = all(why_shut(journey, due, way) is None for way in usual)
        return lowers and open_way

    def _watch_sent_back(self, journey: Journey) -> None:
        back = {s.step for s in journey.statuses if s.state is StepState.CHECK_AGAIN}
        for name in back - self._back:
            truth, step = self.rehearsal.truth_of(name), self.run.steps[name]
            step.sent_back += 1
            step.sent_back_needed += truth is not None and not truth.is_inside
            self._say(f"{name}: sent back, {_SAY.text(journey.status(name).reason)}")
        self._back = back

    def _close(self, journey: Journey) -> None:
        for name, step in self.run.steps.items():
            truth = self.rehearsal.truth_of(name)
            step.final_ratio = truth.ratio if truth is not None else None
            step.strict_ratio = strict_ratio(self.rehearsal.world, name)
            if name == TILT:
                away = tilt_truth(self.rehearsal.world, by_bands=True)
                step.from_least_leak_deg = away.value
            step.cycles = max((n for (s, _), n in self._cycles.items() if s == name), default=0)
            if not self.run.ended and journey.due == name and not step.never_ended:
                step.never_ended = True
                headline = journey.status(name).assessment.headline
                step.stuck_at = self.run.trouble or _SAY.text(headline)

    def _say(self, line: str) -> None:
        if self.told:
            self.run.log.append(line)


def _lowers(reading: type[Reading]) -> bool:
    return reading.LOWERS_STYLUS


def run_deck(
    seed: int,
    number: int,
    difficulty: Difficulty = Difficulty.ORDINARY,
    *,
    told: bool = False,
    held: str = "",
    erring: bool = False,
    ways: Mapping[str, str] | None = None,
    until: str = "",
) -> DeckRun:
    """Fit one practice deck with no person; the same arguments give the same fitting.

    `told` keeps a log of everything done, in words. `held` names what is held fast, of
    :data:`core.practice.faults.HELD`. Somebody `erring` gets wrong what
    :mod:`core.practice.proof.slips` draws. `ways` names the way of reading that they reach for at
    some steps, on a deck with a test record and an input for its sound. It ends where the step
    `until` is first due. With any of these, nothing is compared with it.
    """
    rng = np.random.default_rng(np.random.SeedSequence((seed, number, 3)))
    rehearsal = new_rehearsal(seed, difficulty, number=number)
    slips = None
    if erring:
        own = np.random.default_rng(np.random.SeedSequence((seed, number, 4)))
        slips, held = Slips(own), held or drawn_held(own)
        deck = with_a_vial(own, rehearsal.deck)
        if deck is not rehearsal.deck:
            rehearsal = new_rehearsal(seed, difficulty, deck, rehearsal.cartridge, number=number)
    person = Person.drawn(rng)
    if ways is not None:
        person.usual.update(ways)
        bench = rehearsal.deck.bench.model_copy(
            update={"has_test_record": True, "has_sound_input": True}
        )
        deck = rehearsal.deck.model_copy(update={"bench": bench})
        rehearsal = new_rehearsal(seed, difficulty, deck, rehearsal.cartridge, number=number)
    if held:
        hold_fast(rehearsal.world, held)
    first = Loop(rehearsal, person, number=number, told=told, slips=slips)
    steps = frozenset(COMPARED) & rehearsal.misleading
    first.until = until
    first.fork_at = frozenset() if held or erring or until or ways is not None else steps
    run = first.play()
    run.held, run.slips = held, None if slips is None else tuple(slips.made)
    # All three are the same until a control that misleads is due for the first time.
    if first.fork is not None:
        deck, cartridge = rehearsal.deck, rehearsal.cartridge
        plain = first.fork.copy(BaselineHand(deck, cartridge, steps)).play()
        early = first.fork.copy(BaselineHand(deck, cartridge, steps, early=True)).play()
        run.compared = tuple(
            Compared(name, *(_came_to(one.steps[name]) for one in (run, plain, early)))
            for name in COMPARED
            if name in steps
        )
    return run


def _came_to(step: StepRun) -> tuple[int, float | None]:
    good = step.verdict is not Verdict.LEFT_AS_FOUND and not step.never_ended
    return step.cycles, step.accepted_ratio if good else None
