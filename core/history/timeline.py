"""A deck's fittings side by side: every quantity over time, and what changed between any two."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from core.fitting import (
    Control,
    Figure,
    Finished,
    MoveMade,
    MovePart,
    StepAccepted,
    StepState,
    StepStatus,
)
from core.history.groups import group_of, groups_of, is_of_deck
from core.language import Message, Name, Series, StepTitle, Value, day_of, message
from core.records import Choice, fields_of
from core.steps import STEPS, Step
from core.steps.shared import FollowedFigure, figures_named
from core.steps.shared.swap_part import Past
from core.steps.speed import NAME as SPEED
from core.steps.speed import speed_name
from core.workflow import arm_words, described_model, described_part, place_words, target_value

_FOLLOWED: Final = tuple(
    sorted(
        ((step.NAME, kind) for step in STEPS for kind in step.REPORT.followed),
        key=lambda one: one[1].rank,
    )
)


class Meaning(Choice):
    """How a change of a quantity compares with its error."""

    UNKNOWN = "unknown", "not read in both fittings"
    OTHERWISE_READ = "otherwise read", "read another way: can't be compared"
    NONE = "none", "no change"
    NOT_TOLD = "not told", "within the error of the readings"
    WITHIN = "within", "more than the error of the readings, within the tolerance"
    BEYOND = "beyond", "more than the tolerance"
    CHANGED = "changed", "its error is not known"


@dataclass(frozen=True, slots=True)
class Snapshot:
    """One fitting in a timeline.

    ``at`` is when it was finished, else its last entry; ``letter`` stands for its cartridge.
    """

    past: Past
    at: datetime
    is_finished: bool
    letter: str

    @property
    def id(self) -> str:
        """The fitting's id."""
        return self.past.fitting.id

    @property
    def day(self) -> date:
        """The day it is shown at."""
        return day_of(self.at)


@dataclass(frozen=True, slots=True)
class TrackedFigure:
    """One figure over all fittings; ``values`` has one for each, None where it was not read.

    Of a deck with several arms or headshells ``group`` says whose it is, and ``label`` says so too.
    """

    key: str
    label: Message
    unit: str
    decimals: int
    values: tuple[Figure | None, ...]
    group: Message | None = None
    figure: Message | None = None

    @property
    def alone(self) -> Message:
        """What it is called without saying whose it is."""
        return self.label if self.figure is None else self.figure


@dataclass(frozen=True, slots=True)
class Change:
    """A quantity in an earlier and a later fitting.

    ``change`` is later less earlier, ``half_width`` half of its 95 % interval; None where one of
    the two, or its error, is not known.
    """

    key: str
    label: Message
    then: Figure | None
    now: Figure | None
    change: float | None
    half_width: float | None
    meaning: Meaning

    @property
    def either(self) -> Figure:
        """The later figure, else the earlier: for unit and decimals."""
        known = self.now or self.then
        if known is None:
            raise ValueError("a quantity read in neither fitting is none")
        return known


@dataclass(frozen=True, slots=True)
class SettingChange:
    """Something set, chosen or written that differs."""

    label: Message
    then: Value
    now: Value


@dataclass(frozen=True, slots=True)
class Comparison:
    """All that changed between two fittings.

    ``moved`` says what every control was moved by in sum after the earlier one, up to and with the
    later one.
    """

    then: Snapshot
    now: Snapshot
    changes: tuple[Change, ...]
    settings: tuple[SettingChange, ...]
    moved: tuple[Message, ...]


@dataclass(frozen=True, slots=True)
class Timeline:
    """All fittings of a deck in order of time, and what was read in them."""

    stands: tuple[Snapshot, ...]
    quantities: tuple[TrackedFigure, ...]

    def quantity(self, key: str) -> TrackedFigure:
        """Return the quantity of this key; KeyError for none."""
        for quantity in self.quantities:
            if quantity.key == key:
                return quantity
        raise KeyError(key)

    def place(self, fitting_id: str) -> int:
        """Return where a fitting stands; KeyError for none."""
        for place, stand in enumerate(self.stands):
            if stand.id == fitting_id:
                return place
        raise KeyError(fitting_id)


def timeline_of(pasts: Sequence[Past]) -> Timeline:
    """Return a deck's fittings in order of time, with every quantity that was read in any."""
    moments = [(_moment(past), past) for past in pasts]
    moments.sort(key=lambda pair: (pair[0], pair[1].fitting.started_at, pair[1].fitting.id))
    letters: dict[str, str] = {}
    stands = tuple(
        Snapshot(
            past=past,
            at=at,
            is_finished=past.fitting.is_finished,
            letter=letters.setdefault(past.fitting.cartridge_id, _letter(len(letters))),
        )
        for at, past in moments
    )
    return Timeline(stands, tuple(_quantities([stand.past for stand in stands])))


def compare_fittings(timeline: Timeline, one_id: str, other_id: str) -> Comparison:
    """Return what changed from the earlier of two fittings to the later.

    Parameters
    ----------
    timeline
        Holds both.
    one_id, other_id
        Their ids, in any order; the same twice is no change at all.

    Raises
    ------
    KeyError
        If the timeline has no such fitting.
    """
    first, second = sorted((timeline.place(one_id), timeline.place(other_id)))
    then, now = timeline.stands[first], timeline.stands[second]
    changes = _of_speeds_at_once(
        _change(quantity, quantity.values[first], quantity.values[second])
        for quantity in timeline.quantities
        if quantity.values[first] is not None or quantity.values[second] is not None
    )
    between = [stand.past for stand in timeline.stands[first + 1 : second + 1]]
    return Comparison(
        then=then,
        now=now,
        changes=changes,
        settings=tuple(_settings(then.past, now.past, changes)),
        moved=tuple(_moved(between, now.past)),
    )


def _moment(past: Past) -> datetime:
    fitting = past.fitting
    if fitting.is_finished:
        ends = [entry.at for entry in fitting.counting() if isinstance(entry.body, Finished)]
        return ends[-1]
    return fitting.entries[-1].at if fitting.entries else fitting.started_at


def _letter(count: int) -> str:
    turn, place = divmod(count, 26)
    return chr(ord("A") + place) + (str(turn + 1) if turn else "")


def _quantities(pasts: Sequence[Past]) -> Iterable[TrackedFigure]:
    """Yield what was followed; what belongs to an arm and a headshell has a line for each."""
    groups = groups_of(pasts)
    for step, kind in _FOLLOWED:
        keys = {  # each once, in the order of the fittings: a deck's speeds may change
            figure.key: None
            for past in pasts
            for figure in figures_named(past.journey.status(step).assessment, kind.key)
        }
        for key in keys:
            values = tuple(_value(past, step, kind, key) for past in pasts)
            if not groups or is_of_deck(step):
                yield from _quantity(step, kind, key, values)
            for number, group in enumerate(() if is_of_deck(step) else groups, 1):
                mine = tuple(
                    value if group.holds(past) else None
                    for past, value in zip(pasts, values, strict=True)
                )
                for one in _quantity(step, kind, f"{key}@{number}", mine):
                    label = message("history.of_group", figure=one.label, group=group.label)
                    whose = message("history.group", group=group.label)
                    yield replace(one, label=label, group=whose, figure=one.label)


def _quantity(
    step: str, kind: FollowedFigure, key: str, values: tuple[Figure | None, ...]
) -> Iterable[TrackedFigure]:
    known = [figure for figure in values if figure is not None]
    if known:
        last = known[-1]
        label = last.label if kind.label is None else kind.label
        yield TrackedFigure(f"{step}/{key}", label, last.unit, last.decimals, values)


def _value(past: Past, step: str, kind: FollowedFigure, key: str) -> Figure | None:
    status = past.journey.status(step)
    figure = status.assessment.figure(key)
    if figure is None or not math.isfinite(figure.value) or status.assessment.foretells:
        return None  # what a move should give was not read
    if kind.tolerance_of and figure.tolerance is None:
        like = status.assessment.figure(kind.tolerance_of)
        figure = replace(figure, tolerance=like.tolerance if like else None)
    return figure


def _change(quantity: TrackedFigure, then: Figure | None, now: Figure | None) -> Change:
    change = half = None
    if then is None or now is None:
        meaning = Meaning.UNKNOWN
    elif then.unit != now.unit or then.label != now.label:
        meaning = Meaning.OTHERWISE_READ  # an arm height over another length, a notch for a dial
    else:
        change = now.value - then.value
        if then.half_width is not None or now.half_width is not None:
            half = math.hypot(then.half_width or 0.0, now.half_width or 0.0)
        meaning = _meaning(change, half, now, then)
    return Change(quantity.key, quantity.label, then, now, change, half, meaning)


def _of_speeds_at_once(changes: Iterable[Change]) -> tuple[Change, ...]:
    """Merge speeds whose figures are the same into one line."""
    found: list[Change] = []
    alike: dict[tuple[object, ...], tuple[int, list[str]]] = {}
    for change in changes:
        step, _, _ = change.key.partition("/")
        if step != SPEED or not change.either.subject:
            found.append(change)
            continue
        told = (_as_told(change.then), _as_told(change.now), change.meaning)
        place, speeds = alike.setdefault(told, (len(found), []))
        speeds.append(change.either.subject)
        if len(speeds) == 1:
            found.append(change)
            continue
        names = tuple(speed_name(float(speed)) for speed in speeds)
        label = message("history.speed_errors", speeds=Series(names))
        found[place] = replace(found[place], label=label)
    return tuple(found)


def _as_told(figure: Figure | None) -> tuple[object, ...]:
    """Return a figure as finely as it is written."""
    if figure is None:
        return ()
    parts = (figure.value, figure.half_width, figure.target, figure.tolerance)
    shown = (None if part is None else round(part, figure.decimals) + 0.0 for part in parts)
    return (*shown, figure.unit)


def _meaning(change: float, half: float | None, now: Figure, then: Figure) -> Meaning:
    if abs(change) < 0.5 * 10.0**-now.decimals:
        return Meaning.NONE
    if half is not None and abs(change) <= half:
        return Meaning.NOT_TOLD
    tolerance = now.tolerance if now.tolerance is not None else then.tolerance
    if tolerance is None:
        return Meaning.CHANGED
    return Meaning.BEYOND if abs(change) > tolerance else Meaning.WITHIN


def _settings(then: Past, now: Past, changes: Sequence[Change]) -> Iterable[SettingChange]:
    if then.fitting.cartridge_id != now.fitting.cartridge_id:
        names = Name(then.cartridge.name), Name(now.cartridge.name)
        yield SettingChange(message("history.cartridge"), *names)
    elif then.cartridge_revision != now.cartridge_revision:
        label = message("history.cartridge_record")
        yield _revised(label, then.cartridge_revision, now.cartridge_revision)
    if then.deck_revision != now.deck_revision:
        label = message("history.deck_record")
        yield _revised(label, then.deck_revision, now.deck_revision)
    for change in changes:
        if change.then and change.now:
            pair = target_value(change.then), target_value(change.now)
            if pair[0] != pair[1]:
                label = message("history.wanted", figure=change.label)
                yield SettingChange(label, *(target or Name("–") for target in pair))
    yield from _put_on(then, now)
    for step in _in_both(then, now):
        title = StepTitle(step.NAME)
        one, other = (past.journey.status(step.NAME) for past in (then, now))
        yield from _choices(title, step.NAME, then, now)
        kept = _kept(one), _kept(other)
        if kept[0] != kept[1]:
            said = (Name(why) if why else message("history.not_overruled") for why in kept)
            yield SettingChange(message("history.overruled", step=title), *said)
        methods = one.assessment.method, other.assessment.method
        if methods[0] != methods[1]:
            ways = (way or message("history.not_read") for way in methods)
            yield SettingChange(message("history.read_by", step=title), *ways)


def _in_both(then: Past, now: Past) -> list[Step]:
    """Return the steps that are about the same in both: on different arms, those of the deck."""
    same_arm = then.fitting.arm_key == now.fitting.arm_key
    return [step for step in STEPS if same_arm or is_of_deck(step.NAME)]


def _put_on(then: Past, now: Past) -> Iterable[SettingChange]:
    """Say which arm and which headshell the work was on, if they differ."""
    one, other = (past.journey.arm for past in (then, now))
    if then.fitting.arm_key != now.fitting.arm_key:
        names = (arm_words(arm.name if arm is not None else "") for arm in (one, other))
        yield SettingChange(message("history.arm"), *names)
    shells = then.fitting.headshell, now.fitting.headshell
    if group_of(then)[1] != group_of(now)[1]:
        words = (
            message("history.no_headshell") if shell is None else Name(shell.name)
            for shell in shells
        )
        yield SettingChange(message("history.headshell"), *words)


def _revised(label: Message, then: int, now: int) -> SettingChange:
    return SettingChange(
        label, message("history.revision", number=then), message("history.revision", number=now)
    )


def _choices(title: StepTitle, step: str, then: Past, now: Past) -> Iterable[SettingChange]:
    one, other = (past.journey.context(step).chosen[step] for past in (then, now))
    differing = {
        spec.name
        for spec in fields_of(type(one))
        if getattr(one, spec.name) != getattr(other, spec.name, None)
    }
    if differing:
        chosen = (described_model(choice) for choice in (one, other))
        label = message("history.chosen", step=title)
        yield SettingChange(label, *(fields if fields.items else Name("–") for fields in chosen))


def _kept(status: StepStatus) -> str:
    body = status.acceptance.body if status.acceptance else None
    if status.state is StepState.KEPT and isinstance(body, StepAccepted):
        return body.reason
    return ""


def _moved(pasts: Sequence[Past], now: Past) -> Iterable[Message]:
    """Say the total movement of each control, zero totals included.

    Of fittings on other arms than the later one's only what is the deck's.
    """
    parallel = not now.deck.arm.is_pivoted
    sums: dict[tuple[Control, str, str], list[float | None]] = {}
    for past in pasts:
        same_arm = past.fitting.arm_key == now.fitting.arm_key
        for entry in past.fitting.counting():
            if not isinstance(entry.body, MoveMade):
                continue
            for part in entry.body.parts if same_arm or is_of_deck(entry.body.step) else ():
                where = place_words(part.control, part.where)
                total = sums.setdefault((part.control, where, part.unit), [0.0, 0.0])
                total[0] = (total[0] or 0.0) + part.amount
                known = total[1] is not None and part.equivalent_mm is not None
                total[1] = (total[1] or 0.0) + (part.equivalent_mm or 0.0) if known else None
    for (control, where, unit), (amount, in_mm) in sums.items():
        part = MovePart(
            control=control,
            amount=round(amount or 0.0, 3 if unit == "turns" else 2),
            unit=unit,
            where=where,
            equivalent_mm=in_mm,
        )
        yield described_part(part, parallel=parallel)
