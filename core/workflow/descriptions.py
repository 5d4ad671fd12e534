"""Descriptions of log entries and figures, for screen and paper alike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from pydantic import BaseModel, ValidationError

from core.fitting import (
    FLOATED_ANEW,
    ArmUsed,
    Body,
    ChoiceMade,
    Control,
    ControlChecked,
    Entry,
    Figure,
    Finished,
    HeadshellUsed,
    HoursRead,
    JobGiven,
    ListeningCheck,
    MoveMade,
    MovePart,
    NoteWritten,
    Planned,
    ReadingTaken,
    Reopened,
    SkatingAtZero,
    StepAccepted,
    ThingsRevised,
    Verdict,
    Withdrawn,
    WorkAsked,
)
from core.language import (
    Expectation,
    Interval,
    Label,
    Message,
    Name,
    Quantity,
    Series,
    Value,
    message,
)
from core.records import Deck, Unit, fields_of
from core.steps import reading_from, step_named
from core.steps.shared import (
    control_name,
    decimals_as_read,
    directed,
    directions_of,
    field_words,
    number_as_read,
)
from core.steps.skating import DIALS
from core.steps.speed import place_label

_NO_UNITS: Final[Mapping[str, Unit]] = MappingProxyType({})


def described(  # noqa: C901, PLR0911, PLR0912 - a case a kind
    body: Body, *, parallel: bool = False, deck: Deck | None = None
) -> Message:
    """Return a log entry in one or two sentences without a final full stop.

    An entry that this version can't read is described as such; nothing is raised. ``parallel`` asks
    for the words of a parallel-tracking arm; ``deck`` says in which unit its scales are marked.
    """
    match body:
        case ReadingTaken():
            return _reading(body, deck)
        case MoveMade(parts=parts, note=note):
            moved = described_parts(parts, parallel=parallel)
            if note:
                return message("log.moved_with_note", moved=moved, note=Name(note))
            return message("log.moved", moved=moved)
        case StepAccepted(verdict=verdict, reason=reason):
            if body.overrides:
                return message("log.kept", verdict=verdict, reason=Name(reason))
            if verdict is Verdict.LEFT_AS_FOUND:  # the entry does not say whether it was set
                if reason:
                    return message("log.accepted_as_it_is_because", reason=Name(reason))
                return message("log.accepted_as_it_is")
            if reason:
                return message("log.accepted_because", verdict=verdict, reason=Name(reason))
            return message("log.accepted", verdict=verdict)
        case ChoiceMade():
            return _choice(body)
        case Withdrawn(reason=reason):
            if reason:
                return message("log.withdrawn_because", reason=Name(reason))
            return message("log.withdrawn")
        case NoteWritten(text=text):
            return message("log.note", text=Name(text))
        case ThingsRevised(deck_revision=of_deck, cartridge_revision=cartridge):
            return message("log.revised", deck=of_deck, cartridge=cartridge)
        case Finished(note=note):
            if note:
                return message("log.finished_with_note", note=Name(note))
            return message("log.finished")
        case Reopened(reason=reason):
            if reason:
                return message("log.reopened_because", reason=Name(reason))
            return message("log.reopened")
        case HoursRead(hours=hours, note=note):
            played = number_as_read(hours, "h", 0)
            if note:
                return message("log.hours_with_note", hours=played, note=Name(note))
            return message("log.hours", hours=played)
        case JobGiven(job=job, number=number):
            if not job:
                return message("log.no_job")
            return message("log.job", number=Name(number or job))
        case WorkAsked(work=work):
            return message("log.work", work=work)
        case SkatingAtZero(back_to=back_to) if back_to is not None:
            return message("log.skating_back_to", setting=setting_words(back_to, deck))
        case SkatingAtZero(was=was, is_back=is_back):
            if was is None:
                return message("log.skating_at_zero", back="yes" if is_back else "no")
            setting = setting_words(was, deck)
            return message("log.skating_was", back="yes" if is_back else "no", setting=setting)
        case ListeningCheck():
            return listened_words(body)
        case ArmUsed(was=arm):
            return message("log.arm", name=Name(arm.name) if arm.name else message("arms.first"))
        case HeadshellUsed(name=name, headshell=shell):
            return message("log.headshell", name=Name(name or shell))
        case Planned():
            return _plan(body, parallel=parallel)


def setting_words(setting: float, deck: Deck | None) -> Value:
    """Return a setting of the skating compensation: by its dial, or the number of a notch."""
    if deck is not None and deck.skating.control in DIALS:
        return Quantity(setting, "gf", decimals_as_read(setting, 2))
    if deck is not None and float(setting).is_integer():
        return message("skating.notch", number=int(setting))
    return number_as_read(setting, "", 0)


def listened_words(heard: ListeningCheck) -> Message:
    """Return what was heard at the end, without what was not checked."""
    said: list[Value] = []
    if heard.channels is not None:
        said.append(message("log.heard.channels", heard=heard.channels.value))
    if heard.phase is not None:
        said.append(message("log.heard.phase", heard=heard.phase.value))
    if heard.balance is not None:
        said.append(message("log.heard.balance", heard=heard.balance.value))
    if heard.hum is not None:
        said.append(message("log.heard.hum", heard=heard.hum.value))
    return message("log.listened", heard=Series(tuple(said), ","))


def described_model(model: BaseModel, units: Mapping[str, Unit] = _NO_UNITS) -> Series:
    """Return the fields of a model that apply, with units.

    ``units`` are those that depend on the deck, by the name of the field.
    """
    said: list[Value] = []
    for spec in fields_of(type(model)):
        value = getattr(model, spec.name)
        applies = spec.when is None or spec.when.holds(getattr(model, spec.when.field, None))
        if not applies or value is None or value in ("", ()):
            continue
        said.append(field_words(spec, value, units.get(spec.name, spec.unit)))
    return Series(tuple(said), ";")


def place_words(control: Control, where: str) -> str:
    """Return which of several similar controls is meant: the name of a foot, a speed."""
    return place_label(where) if control is Control.SPEED else where


def described_parts(parts: Iterable[MovePart], *, parallel: bool = False) -> Series:
    """Return all controls of a move; ``parallel`` as for :func:`described`."""
    return Series(tuple(described_part(part, parallel=parallel) for part in parts), ";")


def described_part(part: MovePart, *, parallel: bool = False) -> Message:
    """Return one control, with amount and direction: ``Foot (front left) 0.50 turns longer``."""
    ways = directions_of(part.control, part.unit, parallel=parallel)
    if not ways or not (part.unit or part.amount):
        return _named(message("log.control", control=part.control), part.control, part.where)
    control = _named(control_name(part.control, part.unit), part.control, part.where)
    way = ways[0 if part.amount >= 0.0 else 1]
    decimals = decimals_as_read(part.amount, 2 if part.unit else 0)
    amount = Quantity(abs(part.amount), part.unit, decimals)
    if part.equivalent_mm is not None and part.unit != "mm":
        also = Quantity(abs(part.equivalent_mm), "mm")
        return message("log.part_in_both", control=control, amount=amount, also=also, way=way)
    return message("log.part", control=control, amount=amount, way=way)


def described_entry(
    entry: Entry,
    counted: Mapping[str, Entry],
    *,
    parallel: bool = False,
    deck: Deck | None = None,
) -> Message:
    """Return an entry; for a move corrected later, both versions.

    ``counted`` are the entries as they count (:meth:`core.fitting.Fitting.counting`), by id.
    """
    now = counted.get(entry.id, entry).body
    entered = described(entry.body, parallel=parallel, deck=deck)
    if now == entry.body:
        return entered
    return message(
        "log.corrected", now=described(now, parallel=parallel, deck=deck), entered=entered
    )


def _named(name: Message, control: Control, where: str) -> Message:
    if not where:
        return name
    return message("log.control_at", control=name, where=Name(place_words(control, where)))


def figure_value(figure: Figure) -> Value:
    """Return a figure with its interval, as text: ``2.00 ± 0.03 gf``, ``0.33 % slow``.

    Of one that is not known to differ from zero no direction is told.
    """
    value = abs(figure.value) if figure.ways else figure.value
    said: Value
    if figure.half_width is None:
        said = Quantity(value, figure.unit, figure.decimals)
    elif figure.target is None and figure.tolerance is not None:  # one that is only predicted
        said = Expectation(
            value, figure.half_width, figure.unit, figure.decimals, tolerance=figure.tolerance
        )
    else:
        said = Interval(value, figure.half_width, figure.unit, figure.decimals)
    is_sure = figure.half_width is None or abs(figure.value) > figure.half_width
    return directed(said, figure.value, figure.ways if is_sure else None, figure.decimals)


def change_value(
    change: float, ways: tuple[Message, Message] | None, unit: str, decimals: int
) -> Value:
    """Return a change of a figure as text, with its direction if the figure has one."""
    if ways is None or not round(change, decimals):
        return Quantity(change, unit, decimals, "signed")
    size = Quantity(abs(change), unit, decimals)
    return message("common.toward", value=size, way=ways[0 if change > 0.0 else 1])


def target_value(figure: Figure) -> Value | None:
    """Return what a figure is compared to, as text: ``2.00 gf ± 0.05``."""
    if figure.target is None:
        return None
    target: Value = Quantity(figure.target, figure.unit, figure.decimals)
    if figure.ways:
        target = Quantity(abs(figure.target), figure.unit, figure.decimals)
        target = directed(target, figure.target, figure.ways, figure.decimals)
    if figure.tolerance is None:
        return target
    tolerance = Quantity(figure.tolerance, "", max(2, figure.decimals), "short")
    return message("log.target", target=target, tolerance=tolerance)


def outside_target(figure: Figure) -> Message:
    """Return that a figure lies outside its target."""
    return message(
        "log.outside_target",
        label=figure.label,
        value=figure_value(figure),
        target=target_value(figure) or message("common.value", value=Quantity(0.0, figure.unit)),
    )


def _plan(body: Planned, *, parallel: bool) -> Message:
    source = "same" if body.settings_of else "before"
    parts = [start.part for start in body.starts if start.part is not None]
    if not parts:
        return message("log.begun", source=source)
    moves = described_parts(parts, parallel=parallel)
    return message("log.begun_with_moves", source=source, moves=moves)


def _reading(body: ReadingTaken, deck: Deck | None) -> Message:
    try:
        reading = reading_from(body.step, body.reading)
    except (ValidationError, KeyError):
        return message("log.unknown_reading")
    if isinstance(reading, ControlChecked):
        return _answer(reading)
    reading = reading.as_said()
    way = Label(type(reading).WAY_TITLE)
    units = _NO_UNITS if deck is None else type(reading).units_on(deck)
    return message("log.reading", way=way, fields=described_model(reading, units))


def _answer(reading: ControlChecked) -> Message:
    name = _named(control_name(reading.control, ""), reading.control, reading.where)
    if reading.reversed_entry:
        return message("log.turned_round", control=name)
    if reading.exchanged:
        return message("log.exchanged")
    if reading.as_read:
        return message("log.right_as_typed")
    if reading.where == FLOATED_ANEW:
        return message("log.floated_anew")
    return message("log.looked_at", control=name)


def _choice(body: ChoiceMade) -> Message:
    try:
        chosen = step_named(body.step).Chosen.model_validate(body.choices)
    except (ValidationError, KeyError):
        return message("log.unknown_choice")
    return message("log.chosen", fields=described_model(chosen))
