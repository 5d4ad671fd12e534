"""The state of the nine steps, computed from the log each time.

A step is judged by its own readings and moves; moves made later in other steps may send it back to
be checked again; and no reading that lowers the stylus on a record is accepted until the downforce
is known to be safe.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from pydantic import ValidationError

from core.fitting import (
    Assessment,
    ChoiceMade,
    Choices,
    Context,
    Control,
    ControlChecked,
    Disturbance,
    Entry,
    Figure,
    Fitting,
    Gate,
    Journey,
    MoveMade,
    MovePart,
    Planned,
    ReadingTaken,
    StepAccepted,
    StepState,
    StepStatus,
    Trial,
    Verdict,
)
from core.language import (
    Interval,
    Message,
    Quantity,
    Sentences,
    StepTitle,
    Text,
    Value,
    message,
    shown,
)
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES, STEPS, Step, reading_from
from core.steps.downforce import allowed_gf
from core.steps.final_downforce import NAME as FINAL
from core.steps.mount import NAME as MOUNT
from core.steps.mount import is_loose
from core.steps.rough_downforce import NAME as ROUGH
from core.steps.shared import Aftermath, Effect, beside_strip, once_more, strip_after, together
from core.steps.skating import NAME as SKATING
from core.workflow.arm_used import OtherArmWork, on_arm, seen_by
from core.workflow.chosen_then import choices_of, chosen_when_read
from core.workflow.descriptions import change_value, figure_value
from core.workflow.effects import downforce_effects, effects_of
from core.workflow.loose_cartridge import minding_loose
from core.workflow.mistaken import (
    mistaken_reason,
    stood_still,
    taken_back,
    turned_back_reason,
    unseen_controls,
)
from core.workflow.refusals import first_settle
from core.workflow.work import as_asked, told_as_set

__all__ = ["Disturbance", "Gate", "Journey", "StepState", "StepStatus", "journey_of"]

_DOWNFORCE_STEPS = (ROUGH, FINAL)


Assess = Callable[[Step, Context], Assessment]


def journey_of(
    deck: Deck,
    cartridge: Cartridge,
    fitting: Fitting,
    *,
    assess: Assess | None = None,
    elsewhere: Iterable[OtherArmWork] = (),
) -> Journey:
    """Return where every step of a fitting stands.

    Parameters
    ----------
    deck, cartridge
        The revisions the fitting works with now (:attr:`Fitting.revisions`).
    fitting
        The log.
    assess
        Judges a step in its context; for whoever remembers answers. Left out, the step is asked.
    elsewhere
        The last work on what is the deck's in fittings on its other arms: what was moved there
        since it was read here sends a step back.

    Returns
    -------
    Journey
        Entries that this version can't read (written by a later one) are passed over.
    """
    fold = _LogReplay(deck, cartridge, fitting, {work.step: work for work in elsewhere})
    return fold.journey(assess or _ask)


def _ask(step: Step, context: Context) -> Assessment:
    return step.assess(context)


class _LogReplay:
    """One pass over the log, from first to last."""

    def __init__(
        self,
        deck: Deck,
        cartridge: Cartridge,
        fitting: Fitting,
        elsewhere: Mapping[str, OtherArmWork],
    ) -> None:
        self.elsewhere = elsewhere
        self.arm = on_arm(deck, fitting)
        deck = seen_by(deck, fitting)
        self.deck, self.cartridge, self.fitting = deck, cartridge, fitting
        self.work = fitting.work
        self.log: dict[str, list[Trial]] = {name: [] for name in STEP_NAMES}
        self.chosen: dict[str, Choices] = {step.NAME: step.Chosen() for step in STEPS}
        self.chosen_then = chosen_when_read(fitting)
        self.accepted: dict[str, tuple[int, Entry]] = {}
        self.accepted_for: dict[str, Choices] = {}
        self.last_reading: dict[str, int] = {}
        self.read_at: dict[str, datetime] = {}
        self.unseen: list[tuple[int, str, Control]] = []
        """Which controls were looked at as nothing showed of their move, by index and step."""
        self.last_trial: dict[str, int] = {}
        self.last_weighing: dict[str, int] = {}
        self.moves: list[tuple[int, str, MoveMade]] = []
        self.effects: dict[int, tuple[Effect, ...]] = {}
        self.strip_mm = 0.0
        self.strips_mm: dict[int, float] = {}
        """What lay under the record before each move, by its index in the log."""
        self.planned: Planned | None = None
        self.taken_back = tuple(taken_back(fitting))
        for index, entry in enumerate(fitting.counting()):
            self._take(index, entry)

    def _take(self, index: int, entry: Entry) -> None:
        body = entry.body
        if isinstance(body, Planned):
            self.planned = self.planned or body
            for choice in body.choices:
                self._choose(choice)
        step = getattr(body, "step", "")
        if step not in self.log:
            return
        if isinstance(body, ReadingTaken):
            self._take_reading(index, entry, body)
        elif isinstance(body, MoveMade):
            right = entry.id in self.fitting.put_right_ids()
            trial = Trial(entry.id, entry.at, entry.who, moves=body.parts, put_right=right)
            self.log[step].append(trial)
            self.moves.append((index, step, body))
            self.strips_mm[index] = self.strip_mm
            for part in body.parts:
                self.strip_mm = strip_after(self.strip_mm, part)
            self.last_trial[step] = index
        elif isinstance(body, StepAccepted):
            self.accepted[step] = (index, entry)
            self.accepted_for[step] = self.chosen[step]
        elif isinstance(body, ChoiceMade):
            self._choose(body)

    def _take_reading(self, index: int, entry: Entry, body: ReadingTaken) -> None:
        step = body.step
        try:
            reading = reading_from(step, body.reading)
        except ValidationError:
            return
        if isinstance(reading, ControlChecked):
            self.last_trial[step] = index
            if reading.reversed_entry or reading.exchanged:
                return  # what it names is counted corrected; the entry itself adds nothing
            if not reading.as_read and stood_still(reading.control, self.log[step]):
                self.unseen.append((index, step, reading.control))
            self.log[step].append(Trial(entry.id, entry.at, entry.who, checked=reading))
            return
        then = self.chosen_then.get(entry.id)
        self.log[step].append(Trial(entry.id, entry.at, entry.who, reading=reading, chosen=then))
        self.last_reading[step] = self.last_trial[step] = index
        self.read_at[step] = max(entry.at, self.read_at.get(step, entry.at))
        if step in _DOWNFORCE_STEPS and reading.TELLS_DOWNFORCE:
            self.last_weighing[step] = index  # the stylus itself, not a check weight

    def _choose(self, body: ChoiceMade) -> None:
        chosen = choices_of(body)
        if chosen is not None:
            self.chosen[body.step] = chosen

    def journey(self, assess: Assess) -> Journey:
        log = {name: tuple(trials) for name, trials in self.log.items()}
        found: dict[str, Assessment] = {}
        contexts: dict[str, Context] = {}
        for step in STEPS:
            context = Context(
                step=step.NAME,
                deck=self.deck,
                cartridge=self.cartridge,
                log=log,
                chosen=self.chosen,
                found=dict(found),
                gains=self.planned.gains if self.planned else (),
            )
            contexts[step.NAME] = context
            said = told_as_set(once_more(assess(step, context), context), context)
            found[step.NAME] = minding_loose(said, context)
        statuses: list[StepStatus] = []
        waiting = ""  # the first step before this one that was never accepted
        for step in STEPS:
            status = self._standing(step, found, contexts[step.NAME], waiting)
            statuses.append(status)
            if not waiting and status.acceptance is None and not self._is_left_out(step.NAME):
                waiting = step.NAME
        return Journey(
            deck=self.deck,
            cartridge=self.cartridge,
            fitting=self.fitting,
            statuses=tuple(statuses),
            gate=self._gate(statuses, found),
            contexts=contexts,
            arm=self.arm,
        )

    def _standing(
        self,
        step: Step,
        found: Mapping[str, Assessment],
        context: Context,
        waiting: str,
    ) -> StepStatus:
        name, assessment = step.NAME, as_asked(found[step.NAME], self.work)
        accepted = self.accepted.get(name)
        visited = accepted is not None or name in self.last_trial
        disturbances = self._disturbances(step, found, context)
        state, reason = self._state(name, assessment, disturbances)
        work = self.elsewhere.get(name)
        if work is not None and self._is_moved_since(name, work):
            state, reason = StepState.CHECK_AGAIN, work.said
        elif work is not None and state is StepState.TO_DO:
            reason = work.said
        left_out = self._is_left_out(name)
        if left_out:
            state = StepState.NOT_ASKED
        elif waiting and not visited:
            state, reason = StepState.CLOSED, first_settle(waiting)
        applies = step.applies(self.deck, self.cartridge)
        if assessment is not found[name]:
            applies = replace(applies, reason=message("workflow.work.nothing_moved"))
        return StepStatus(
            step=name,
            state=state,
            reason=reason,
            assessment=assessment,
            applicability=applies,
            waits_for="" if visited or left_out else waiting,
            acceptance=accepted[1] if accepted else None,
            disturbances=disturbances,
            trials=context.trials,
        )

    def _is_moved_since(self, name: str, work: OtherArmWork) -> bool:
        """Whether the deck's own setting was moved with another arm since it was last known."""
        marks = [self.read_at[name]] if name in self.read_at else []
        accepted = self.accepted.get(name)
        if accepted and isinstance(accepted[1].body, StepAccepted) and accepted[1].body.reason:
            marks.append(accepted[1].at)
        return work.moved_at is not None and bool(marks) and max(marks) < work.moved_at

    def _is_left_out(self, name: str) -> bool:
        """Whether a step is not part of this work and nothing was done in it."""
        asked = self.work is None or name in self.work.steps
        return not asked and name not in self.accepted and name not in self.last_trial

    def _state(
        self, name: str, assessment: Assessment, disturbances: tuple[Disturbance, ...]
    ) -> tuple[StepState, Text]:
        sent_back = tuple(d.sentence for d in disturbances if d.sends_back and d.sentence)
        if sent_back:
            return StepState.CHECK_AGAIN, message("workflow.sent_back", why=Sentences(sent_back))
        accepted = self.accepted.get(name)
        if accepted is None:
            return (StepState.IN_HAND if name in self.last_trial else StepState.TO_DO), ""
        index, entry = accepted
        changed_since = (
            self.last_trial.get(name, -1) > index or self.accepted_for[name] != self.chosen[name]
        )
        if not isinstance(entry.body, StepAccepted):  # never: only these are noted
            return StepState.IN_HAND, ""
        return _after_acceptance(entry.body, assessment, changed_since=changed_since)

    def _disturbances(
        self, step: Step, found: Mapping[str, Assessment], context: Context
    ) -> tuple[Disturbance, ...]:
        name = step.NAME
        since = self._known_since(name)
        if since is None:
            return ()
        effects = [
            effect
            for index, moved_in, body in self.moves
            if index > since and moved_in != name
            for effect in self._effects_of(index, body)
            if effect.step == name
        ]
        effects += self._downforce_effects(name, since, found)
        by_key: dict[str, list[Effect]] = {}
        for effect in effects:
            by_key.setdefault(effect.key, []).append(effect)
        sums = {key: together(group) for key, group in by_key.items()}
        known = {key: change for key, change in sums.items() if change is not None}
        left = step.aftermath(context, found[name], known) if known else Aftermath({}, frozenset())
        made = tuple(
            _disturbance(found[name].figure(key), key, left, group[-1].reason)
            for key, group in by_key.items()
        )
        if name != ROUGH and self._still_being_set(name, since, found):
            made = tuple(replace(one, sends_back=one.change is None) for one in made)
        unknown = (_unknown("", reason) for reason in self._mistaken(name, since, found))
        return (*made, *unknown)

    def _mistaken(
        self, name: str, since: int, found: Mapping[str, Assessment]
    ) -> tuple[Message, ...]:
        """Return that a move elsewhere that did not show may have been made on this control.

        Downforce is weighed again at once, for the stylus' sake; another step once that is settled.
        """
        if name in _DOWNFORCE_STEPS:
            weighed = max(_DOWNFORCE_STEPS, key=lambda one: self.last_weighing.get(one, -1))
            if name != weighed:
                return ()
        unseen = [(step, control) for index, step, control in self.unseen if index > since]
        unseen += [
            (step, control)
            for step, assessment in found.items()
            if self.last_reading.get(step, -1) > since
            for control in unseen_controls(assessment)
            if stood_still(control, self.log[step])
        ]
        for step, control in unseen:
            reason = mistaken_reason(control, name)
            settled = name in _DOWNFORCE_STEPS or found[step].verdict.passes
            if reason is not None and settled:
                return (reason,)
        return self._turned_back(name, since)

    def _turned_back(self, name: str, since: int) -> tuple[Message, ...]:
        """Return that what this step set may have been turned back with a move withdrawn since.

        Only if it was set after that move: before that, turning it back puts it right.
        """
        ours = _DOWNFORCE_STEPS if name in _DOWNFORCE_STEPS else (name,)
        for taken in self.taken_back:
            reason = turned_back_reason(taken.control, name)
            set_between = any(
                taken.made <= index < taken.withdrawn and moved_in in ours
                for index, moved_in, _ in self.moves
            )
            if reason is not None and taken.withdrawn > since and set_between:
                return (reason,)
        return ()

    def _still_being_set(self, name: str, since: int, found: Mapping[str, Assessment]) -> bool:
        """Whether a later step that moved something since is not settled: it may move it back.

        Only after that is it worth checking the earlier step again. The stylus gate does not wait.
        """
        later = STEP_NAMES[STEP_NAMES.index(name) + 1 :]
        for index, moved_in, _ in self.moves:
            if index <= since or moved_in not in later or found[moved_in].verdict.passes:
                continue
            accepted = self.accepted.get(moved_in)
            if accepted is None or accepted[0] < index:
                return True
        return False

    def _effects_of(self, index: int, body: MoveMade) -> tuple[Effect, ...]:
        """Return the effects of a move on other steps, computed once."""
        if index not in self.effects:
            strip_mm, found = self.strips_mm[index], list[Effect]()
            for part in body.parts:
                found += beside_strip(self._effects_of_part, part, strip_mm)
                strip_mm = strip_after(strip_mm, part)
            self.effects[index] = tuple(found)
        return self.effects[index]

    def _effects_of_part(self, part: MovePart) -> tuple[Effect, ...]:
        return effects_of(part, self.deck, self.cartridge)

    def _known_since(self, name: str) -> int | None:
        """Return the index in the log up to which moves are accounted for."""
        marks = [self.last_reading[name]] if name in self.last_reading else []
        if name == ROUGH and FINAL in self.last_weighing:
            marks.append(self.last_weighing[FINAL])
        accepted = self.accepted.get(name)
        if accepted and isinstance(accepted[1].body, StepAccepted) and accepted[1].body.reason:
            marks.append(accepted[0])
        return max(marks) if marks else None

    def _downforce_effects(
        self, name: str, since: int, found: Mapping[str, Assessment]
    ) -> list[Effect]:
        if self.last_reading.get(FINAL, -1) <= since or name in _DOWNFORCE_STEPS:
            return []
        final = found[FINAL]
        before = found[ROUGH].figure("downforce")
        if name == SKATING:
            before = found[SKATING].figure("set_for") or before
        after = final.figure("downforce")
        if before is None or after is None or not final.verdict.passes:
            return []  # don't send anybody back while it is still being set
        change = after.value - before.value
        setting = found[SKATING].figure("setting")
        if name == SKATING and setting is not None and before.value > 0.0:
            # In proportion: a dial off the rule by some share stays off by that share.
            change = setting.value * change / before.value
        effects = downforce_effects(change, self.cartridge)
        return [effect for effect in effects if effect.step == name]

    def _gate(self, statuses: list[StepStatus], found: Mapping[str, Assessment]) -> Gate:
        if is_loose(self.log[MOUNT]):
            return _closed(message("workflow.gate.loose", step=StepTitle(MOUNT)))
        return self._gate_by_weighing(statuses, found)

    def _gate_by_weighing(
        self, statuses: list[StepStatus], found: Mapping[str, Assessment]
    ) -> Gate:
        rough = next(s for s in statuses if s.step == ROUGH)
        readings = [self.last_weighing.get(name, -1) for name in _DOWNFORCE_STEPS]
        last = max(readings)
        if last < 0:
            return _closed(message("workflow.gate.unread", step=StepTitle(ROUGH)))
        moved = self._unweighed(last, found)
        if moved is not None:
            return _closed(moved)
        if any(d.sends_back for d in rough.disturbances):
            return _closed(message("workflow.gate.disturbed", why=shown(rough.reason)))
        if readings[1] > readings[0]:
            return self._gate_by_final(found[FINAL])
        if rough.assessment.verdict is not Verdict.GOOD:
            return _closed(message("workflow.gate.not_safe", why=rough.assessment.headline))
        return Gate(is_open=True)

    def _unweighed(self, last: int, found: Mapping[str, Assessment]) -> Message | None:
        """Return what was or may have been moved since the last weighing, at this index."""
        moved = any(
            index > last and part.control in (Control.COUNTERWEIGHT, Control.CARTRIDGE)
            for index, _, body in self.moves
            for part in body.parts
        )
        if moved:
            return message("workflow.gate.moved")
        mistaken = [why for name in _DOWNFORCE_STEPS for why in self._mistaken(name, last, found)]
        return message("workflow.gate.mistaken", why=mistaken[0]) if mistaken else None

    def _gate_by_final(self, final: Assessment) -> Gate:
        figure = final.figure("downforce")
        low, high = allowed_gf(self.deck, self.cartridge)
        by_maker = self.cartridge.downforce_min_gf, self.cartridge.downforce_max_gf
        allowed: dict[str, Value] = {"low": Quantity(by_maker[0]), "high": _gf(by_maker[1])}
        if figure is None:
            return _closed(Message("workflow.gate.unknown", allowed))
        if not low <= figure.value <= high:
            return _closed(message("workflow.gate.outside", now=_gf(figure.value), **allowed))
        # A downforce known only by a dial must be inside with its whole interval.
        half = (figure.half_width or 0.0) if figure.is_coarse else 0.0
        if not (low <= figure.value - half and figure.value + half <= high):
            now = Interval(figure.value, half, "gf")
            return _closed(message("workflow.gate.not_sure", now=now, **allowed))
        return Gate(is_open=True)


def _after_acceptance(
    body: StepAccepted, assessment: Assessment, *, changed_since: bool
) -> tuple[StepState, Text]:
    """Return what a step is after it was accepted; its reason holds until something is entered."""
    if body.overrides and changed_since:  # also if it is good now: nobody has accepted that
        return StepState.IN_HAND, message("workflow.changed_since_kept")
    if body.reason and body.overrides:
        return StepState.KEPT, body.reason
    if assessment.verdict.passes:
        return StepState.DONE, "" if changed_since else body.reason
    asked_later = body.verdict.passes and not changed_since and assessment.questions
    if asked_later:  # by a newer program: what was accepted as good stays so
        return StepState.DONE, body.reason
    return StepState.IN_HAND, message("workflow.changed_since_accepted")


def _gf(value: float) -> Quantity:
    return Quantity(value, "gf")


def _closed(reason: Message) -> Gate:
    return Gate(is_open=False, reason=reason)


def _unknown(key: str, why: Message) -> Disturbance:
    sentence = message("workflow.read_once_more", why=why)
    return Disturbance(key, None, "", None, sends_back=True, sentence=sentence)


def _disturbance(figure: Figure | None, key: str, left: Aftermath, why: Message) -> Disturbance:
    """Describe the change of one figure; without a known change only a reading can tell."""
    change = left.changes.get(key)
    if change is None:
        return _unknown(key, why)
    if figure is None or figure.tolerance is None:
        return Disturbance(key, None, "", None, sends_back=False, sentence=None)
    sends_back = key in left.spoiled
    predicted = figure.value if left.of_targets else figure.value + change.value
    shows = round(change.value, figure.decimals) or round(change.half_width, figure.decimals)
    if not sends_back and not shows:  # a change of 0.00 is not worth a sentence
        return Disturbance(key, change.value, figure.unit, predicted, sends_back, None)
    now = (figure.target or 0.0) + change.value if left.of_targets else predicted
    inside = abs((figure.deviation or 0.0) + change.value) <= figure.tolerance
    values: dict[str, Value] = {
        "figure": figure.label,
        "change": change_value(change.value, figure.ways, figure.unit, figure.decimals),
        "most": Quantity(abs(change.value) + change.half_width, figure.unit, figure.decimals),
        "now": figure_value(replace(figure, value=now, half_width=None)),
        "tolerance": Quantity(figure.tolerance, figure.unit, figure.decimals),
        "why": why,
    }
    if left.of_targets:
        sentence = Message("workflow.other_setting_wanted", values)
    elif change.half_width > abs(change.value):
        sentence = Message("workflow.may_be_disturbed", values)
    elif sends_back and inside:
        sentence = Message("workflow.no_longer_sure", values)
    else:
        sentence = Message("workflow.disturbed", values)
    return Disturbance(key, change.value, figure.unit, predicted, sends_back, sentence)
