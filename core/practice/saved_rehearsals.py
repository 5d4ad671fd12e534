"""Rehearsals kept in a library of their own, so that they can be continued.

A rehearsal is a fitting like any other, and a fact beside it that tells how its deck came about.
The deck's hidden state is never stored: it is drawn again, and the moves are replayed on it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final

from pydantic import Field, ValidationError

from core.fitting import Fitting, Journey, MoveMade, Reading, ReadingTaken
from core.language import Message, ToldProblem, message
from core.practice.faults import Difficulty
from core.practice.rehearsal import Rehearsal, new_rehearsal
from core.records import ArmKind, Cartridge, Choice, Count, Deck, FrozenModel, Limits
from core.steps import FINAL_DOWNFORCE, LEVEL, MOUNT, ROUGH_DOWNFORCE, SPEED, reading_from
from core.steps.alignment import NAME as ALIGNMENT
from core.store import FittingRow, Library, LibraryProblem, ProblemKind
from core.workflow import journey_of

MOST_NUMBER: Final = 999_999
_FACT: Final = "rehearsal:"
_TRIES: Final = 400


class DeckKind(Choice):
    """What kind of deck is rehearsed on."""

    ANY = "any", "Any"
    OFFSET = "pivoted offset", "Pivoted arm, head at an angle"
    STRAIGHT = "pivoted straight", "Pivoted arm, straight head (underhung)"
    PARALLEL = "parallel tracking", "Parallel tracking arm"


class Wish(FrozenModel):
    """Which practice deck a person wants."""

    difficulty: Difficulty = Field(
        Difficulty.GENTLE, title="Difficulty", description="How much is wrong with the deck."
    )
    kind: DeckKind = Field(
        DeckKind.ANY, title="Kind of deck", description="Everything else about it is a surprise."
    )
    number: Annotated[Count, Limits(0, MOST_NUMBER)] = Field(
        title="Number",
        description="The same number, difficulty and kind make the same deck again.",
    )

    def described(self, *, alone: bool = False) -> Message:
        """Return the wish in a few words, to stand alone or inside a sentence."""
        difficulty = message("practice.difficulty", difficulty=self.difficulty)
        kind = message("practice.kind", kind=self.kind)
        if alone:
            return message(
                "practice.wish_alone", number=self.number, difficulty=difficulty, kind=kind
            )
        return message("practice.wish", number=self.number, difficulty=difficulty, kind=kind)


@dataclass(frozen=True, slots=True)
class SavedRehearsal:
    """An unfinished rehearsal."""

    wish: Wish
    row: FittingRow


def make_rehearsal(wish: Wish) -> Rehearsal:
    """Make the practice deck that a wish asks for; the same wish makes the same one.

    Raises
    ------
    ToldProblem
        If no deck of that kind comes up.
    """
    for number in range(_TRIES):
        rehearsal = new_rehearsal(wish.number, wish.difficulty, number=number)
        if wish.kind is DeckKind.ANY or rehearsal.deck.arm.kind is ArmKind(wish.kind.value):
            return _with_sound(wish, rehearsal, number)
    raise ToldProblem(message("practice.no_such_deck", number=wish.number))


def _with_sound(wish: Wish, rehearsal: Rehearsal, number: int) -> Rehearsal:
    """Return the same deck, with a sound input beside it: its recordings are made here."""
    bench = rehearsal.deck.bench.model_copy(update={"has_sound_input": True})
    deck = rehearsal.deck.model_copy(update={"bench": bench})
    return new_rehearsal(wish.number, wish.difficulty, deck, rehearsal.cartridge, number=number)


def begin_rehearsal(library: Library, wish: Wish, who: str = "") -> tuple[str, Rehearsal]:
    """Begin a rehearsal in the library of rehearsals; return its fitting's id and the deck.

    Raises
    ------
    ValueError, LibraryProblem
        If no such deck comes up, or it can't be kept.
    """
    rehearsal = make_rehearsal(wish)
    fact = {**wish.model_dump(mode="json"), "seed": list(rehearsal.seed)}
    with library.transaction():
        deck_id = library.keep_deck(rehearsal.deck, who=who).id
        cartridge_id = library.keep_cartridge(rehearsal.cartridge, who=who).id
        fitting = library.start_fitting(deck_id, cartridge_id, who=who)
        library.keep_fact(_FACT + fitting.id, json.dumps(fact))
    return fitting.id, rehearsal


def wish_of(library: Library, fitting_id: str) -> Wish | None:
    """Return what a fitting is a rehearsal of, or None if nothing sound is known of it."""
    fact = _fact(library, fitting_id)
    try:
        return Wish.model_validate({k: v for k, v in fact.items() if k in Wish.model_fields})
    except ValidationError:
        return None


def unfinished_rehearsals(library: Library) -> tuple[SavedRehearsal, ...]:
    """Return the rehearsals that can be continued, the latest first."""
    rows = library.fittings(finished=False, archived=False)
    found = ((wish_of(library, row.id), row) for row in rows)
    return tuple(SavedRehearsal(wish, row) for wish, row in found if wish is not None)


def rehearsal_at_start(library: Library, fitting_id: str) -> Rehearsal:
    """Make the practice deck of a kept rehearsal as it stood at the start.

    Raises
    ------
    LibraryProblem
        As :func:`resume_rehearsal`.
    """
    return _deck_at_start(library, fitting_id, library.fitting(fitting_id))


def resume_rehearsal(library: Library, fitting_id: str) -> Rehearsal:
    """Make the practice deck of a kept rehearsal as it stood when it was left.

    Raises
    ------
    LibraryProblem
        If it can't be read, or nothing is known of the deck it was on.
    """
    fitting = library.fitting(fitting_id)
    rehearsal = _deck_at_start(library, fitting_id, fitting)
    replay_moves(rehearsal, fitting)
    return rehearsal


def _deck_at_start(library: Library, fitting_id: str, fitting: Fitting) -> Rehearsal:
    wish, seed = wish_of(library, fitting_id), _seed_in(_fact(library, fitting_id))
    if wish is None or seed is None:
        raise LibraryProblem(
            ProblemKind.DAMAGED,
            message("practice.gone"),
            message("practice.gone_remedy"),
        )
    # As they were at the start: what the person corrects later changes no deck.
    deck: Deck = library.deck(fitting.deck_id, fitting.deck_revision).thing
    cartridge: Cartridge = library.cartridge(fitting.cartridge_id, fitting.cartridge_revision).thing
    return Rehearsal(seed, wish.difficulty, deck, cartridge)


def replay_moves(rehearsal: Rehearsal, fitting: Fitting) -> None:
    """Replay every move of a log, withdrawn or not: a hand's move has happened.

    Readings are taken again too, so that later ones have errors of their own, and noted beside what
    was true.
    """
    for place, entry in enumerate(fitting.entries):
        body = entry.body
        if isinstance(body, MoveMade):
            rehearsal.obey(body.parts)
        elif isinstance(body, ReadingTaken):
            _look(rehearsal, body)
            before = None
            if body.step == ALIGNMENT:
                until = fitting.model_copy(update={"entries": fitting.entries[:place]})
                before = journey_of(rehearsal.deck, rehearsal.cartridge, until)
            note_reading(rehearsal, entry.id, body, before)


def note_reading(
    rehearsal: Rehearsal, entry_id: str, body: ReadingTaken, before: Journey | None
) -> None:
    """Store a reading of the log beside its true value.

    Parameters
    ----------
    rehearsal
        The practice deck as it stands when the reading is taken.
    entry_id, body
        The entry.
    before
        The fitting as it stood before; it says what the protractor was drawn for.
    """
    try:
        reading: Reading = reading_from(body.step, body.reading)
    except (ValidationError, ValueError):
        return
    chosen = choices_from(rehearsal, body.step, str(reading.way), reading.model_dump(mode="json"))
    if body.step == ALIGNMENT and before is not None:
        chosen |= drawn_for(before)
    rehearsal.note(entry_id, body.step, reading, **chosen)


def drawn_for(journey: Journey) -> dict[str, float]:
    """Return the pivot distance that the protractor is drawn for just now."""
    assessment = journey.status(ALIGNMENT).assessment
    reach, beyond = assessment.figure("wanted_length"), assessment.figure("wanted_overhang")
    if reach is None or beyond is None:
        return {}
    return {"drawn_pivot_mm": reach.value - beyond.value}


CHOSEN: Final[Mapping[tuple[str, str], tuple[str, ...]]] = {
    (LEVEL, "bubble"): ("direction", "bearing_deg", "turned"),
    (LEVEL, "bubble at its end"): ("direction", "bearing_deg", "turned"),
    (LEVEL, "inclinometer"): ("direction", "bearing_deg", "turned"),
    (LEVEL, "ruler"): ("direction", "bearing_deg", "turned", "length_mm"),
    (LEVEL, "water"): ("direction", "bearing_deg", "turned", "width_mm"),
    (ROUGH_DOWNFORCE, "check weight"): ("weight_g",),
    (ROUGH_DOWNFORCE, "float and dial"): ("dial_gf",),
    (ROUGH_DOWNFORCE, "float and slide"): ("slid_mm",),
    (FINAL_DOWNFORCE, "check weight"): ("weight_g",),
    (FINAL_DOWNFORCE, "float and dial"): ("dial_gf",),
    (FINAL_DOWNFORCE, "float and slide"): ("slid_mm",),
    (SPEED, "strobe"): ("speed_rpm", "seconds", "minutes_running"),
    (SPEED, "too fast to count"): ("speed_rpm",),
    (SPEED, "timed turns"): ("speed_rpm", "turns", "minutes_running"),
    (SPEED, "readout"): ("speed_rpm", "minutes_running"),
    (SPEED, "tone"): ("speed_rpm", "minutes_running"),
    (MOUNT, "resonance by record"): ("sweep",),
}
"""Fields of a reading that are decided before the instrument is looked at, by step and way."""


def choices_from(
    rehearsal: Rehearsal, step: str, way: str, fields: Mapping[str, Any]
) -> dict[str, Any]:
    """Return what an instrument must know, from the fields of a reading that were filled in."""
    names = CHOSEN.get((step, way), ())
    chosen = {name: fields[name] for name in names if fields.get(name) is not None}
    minutes = chosen.pop("minutes_running", None)
    if minutes is not None and minutes < rehearsal.deck.platter.warm_up_min:
        chosen["cold"] = True
    return chosen


def _look(rehearsal: Rehearsal, body: ReadingTaken) -> None:
    try:
        reading: Reading = reading_from(body.step, body.reading)
    except (ValidationError, ValueError):
        return
    way = str(reading.way)
    if way in rehearsal.ways(body.step):
        chosen = choices_from(rehearsal, body.step, way, reading.model_dump(mode="json"))
        rehearsal.instrument(body.step, way, **chosen)


def _fact(library: Library, fitting_id: str) -> dict[str, Any]:
    try:
        fact = json.loads(library.fact(_FACT + fitting_id) or "{}")
    except json.JSONDecodeError:
        return {}
    return fact if isinstance(fact, dict) else {}


def _seed_in(fact: Mapping[str, Any]) -> tuple[int, ...] | None:
    seed = fact.get("seed")
    if not isinstance(seed, list) or not seed:
        return None
    sound = all(isinstance(one, int) and not isinstance(one, bool) and one >= 0 for one in seed)
    return tuple(seed) if sound else None
