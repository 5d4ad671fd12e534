"""Names readings that disagree: by the time they were taken, and by what was typed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

from core.fitting import Context, Reading, Trial
from core.language import Label, Message, Name, Quantity, Series, Value, clock_of, message
from core.records import Choice, Deck, FieldKind, FieldSpec, Unit, fields_of

_MOST_NAMED: Final = 4
"""More readings than this are not named: the last ones are."""

_NAMED: Final = (FieldKind.NUMBER, FieldKind.WHOLE, FieldKind.CHOICE)
_MOST_DECIMALS: Final = 4
_MOST_ZEROS: Final = 2
_SAME: Final = 1e-9


def compared(
    context: Context, is_meant: Callable[[Reading], bool] = lambda _reading: True
) -> tuple[Message, ...]:
    """Return a note that names the readings since the step's last move, or none for fewer than two.

    ``is_meant`` says of which readings it is told that they disagree.
    """
    since: list[Trial] = []
    for trial in context.trials:
        if trial.moves:
            since.clear()
        elif trial.reading is not None and is_meant(trial.reading):
            since.append(trial)
    return compared_trials(since, context.deck)


def compared_trials(trials: Sequence[Trial], deck: Deck) -> tuple[Message, ...]:
    """Return a note that names these readings, or none for fewer than two."""
    if len(trials) < 2:
        return ()
    told = tuple(_told(trial, deck) for trial in trials[-_MOST_NAMED:])
    return (message("doubt.compare", readings=Series(told, ";")),)


def _told(trial: Trial, deck: Deck) -> Message:
    said: list[Value] = []
    reading = trial.reading
    if reading is not None:
        units = type(reading).units_on(deck)
        for spec in fields_of(type(reading)):
            value = getattr(reading, spec.name)
            if spec.kind in _NAMED and value is not None:
                said.append(field_words(spec, value, units.get(spec.name, spec.unit)))
    read = Series(tuple(said), ",")
    if trial.at is None:
        return message("doubt.typed_now", read=read)
    return message("doubt.read_at", clock=Name(clock_of(trial.at)), read=read)


def field_words(spec: FieldSpec, value: Any, unit: Unit | None) -> Message:
    """Return a field of a reading with its label: ``Scale shows 2.00 gf``."""
    symbol = unit.symbol if unit else ""
    decimals = unit.decimals if unit and unit.symbol else 0
    label = Label(spec.label)
    match spec.kind:
        case FieldKind.FLAG:
            return message("log.flag", label=label, answer="yes" if value else "no")
        case FieldKind.NUMBER if spec.directions and value:
            way = spec.directions.plus if value > 0 else spec.directions.minus
            amount = number_as_read(abs(float(value)), symbol, decimals)
            return message("log.field_with_direction", label=label, value=amount, way=Label(way))
        case FieldKind.NUMBER | FieldKind.WHOLE:
            read = number_as_read(float(value), symbol, decimals)
            return message("log.field", label=label, value=read)
        case FieldKind.NUMBERS:
            many = tuple(number_as_read(float(one), symbol, decimals) for one in value)
            return message("log.field", label=label, value=Series(many, ","))
        case FieldKind.CHOICE if isinstance(value, Choice) and value.names_its_field:
            return message("common.value", value=value)
        case _:
            said = value if isinstance(value, Choice) else Name(str(value))
            return message("log.field", label=label, value=said)


def number_as_read(value: float, symbol: str, decimals: int) -> Quantity:
    """Return a number as read: with the unit's decimals, or more if more were typed.

    Never with three for their zeros' sake: ``1,000 turns`` would be read as a thousand.
    """
    return Quantity(value, symbol, decimals_as_read(value, min(decimals, _MOST_ZEROS)))


def decimals_as_read(value: float, least: int) -> int:
    """Return the decimals needed to show a number as read or moved, at least this many."""
    while least < _MOST_DECIMALS and abs(round(value, least) - value) > _SAME:
        least += 1
    return least
