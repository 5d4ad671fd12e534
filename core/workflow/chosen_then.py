"""The choices for a step at the time of each of its readings."""

from __future__ import annotations

from pydantic import ValidationError

from core.fitting import ChoiceMade, Choices, Fitting, Planned, ReadingTaken, Withdrawn
from core.steps import step_named


def choices_of(body: ChoiceMade) -> Choices | None:
    """Return the choices in an entry, None if this version can't read it."""
    try:
        return step_named(body.step).Chosen.model_validate(body.choices)
    except (ValidationError, KeyError):
        return None


def chosen_when_read(fitting: Fitting) -> dict[str, Choices]:
    """Return the choices in force at every reading, by the reading's entry.

    A choice withdrawn later was still in force at the time, and a restored reading keeps its
    original time. Choices of another arm don't count.
    """
    found: dict[str, Choices] = {}
    made: dict[str, list[tuple[str, Choices]]] = {}
    gone: set[str] = set()
    about: dict[str, tuple[str, bool]] = {}
    aside = fitting.set_aside_ids()
    for entry in fitting.entries:
        body = entry.body
        if entry.id in aside:
            continue
        if isinstance(body, ChoiceMade | Planned):
            about[entry.id] = entry.id, False
            for one in body.choices if isinstance(body, Planned) else (body,):
                chosen = choices_of(one)
                if chosen is not None:
                    made.setdefault(one.step, []).append((entry.id, chosen))
        elif isinstance(body, Withdrawn) and body.entry in about:
            choice, took = about[body.entry]
            about[entry.id] = choice, not took
            (gone.discard if took else gone.add)(choice)
        elif isinstance(body, ReadingTaken):
            standing = [chosen for by, chosen in made.get(body.step, ()) if by not in gone]
            if standing:
                found[entry.id] = standing[-1]
            else:
                try:
                    found[entry.id] = step_named(body.step).Chosen()
                except KeyError:  # a step of a later version
                    continue
    return found
