"""What lists say of a fitting is what the whole replay of its log says, which asks every step."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from core.fitting import (
    Body,
    ReadingTaken,
    Reopened,
    StepAccepted,
    StepState,
    Verdict,
    Withdrawn,
)
from core.steps import STEP_NAMES
from core.store import FittingRow, Library
from core.workflow.replay import journey_of
from tests.examples import cartridge, deck
from tests.visits import bodies, keep, noon
from tests.worked import bubble


@pytest.fixture
def ids(library: Library) -> tuple[str, str]:
    """A deck that is checked every 12 months, and a cartridge."""
    kept = library.keep_deck(deck(name="Own deck", check_months=12))
    return kept.id, library.keep_cartridge(cartridge(name="Own pick")).id


def row_of(library: Library, fitting_id: str) -> FittingRow:
    listing = library.log.listing()
    place = listing.place_of(fitting_id)
    assert place is not None
    return listing.row(place)


def agrees(library: Library, fitting_id: str) -> FittingRow:
    """Return a row once the replay has said the same of the fitting."""
    fitting = library.fitting(fitting_id)
    deck_revision, cartridge_revision = fitting.revisions
    journey = journey_of(
        library.deck(fitting.deck_id, deck_revision).thing,
        library.cartridge(fitting.cartridge_id, cartridge_revision).thing,
        fitting,
    )
    row = row_of(library, fitting_id)
    assert row.reached == (
        f"{STEP_NAMES.index(journey.due) + 1} {journey.due}" if journey.due else ""
    )
    assert row.kept == sum(one.state is StepState.KEPT for one in journey.statuses)
    assert row.finished is fitting.is_finished
    return row


def test_a_fitting_stands_where_the_replay_says_after_every_entry(
    library: Library, ids: tuple[str, str]
) -> None:
    fitting = library.start_fitting(*ids)
    assert agrees(library, fitting.id).reached == "1 level"
    for body in bodies():
        library.append(fitting.id, body)
        agrees(library, fitting.id)
    assert row_of(library, fitting.id).reached == ""
    library.append(fitting.id, Reopened())
    agrees(library, fitting.id)


def test_a_verdict_is_overruled_until_it_is_read_again_or_taken_back(
    library: Library, ids: tuple[str, str]
) -> None:
    fitting = library.start_fitting(*ids)
    tilted = bubble("left-right", 8.0)
    reading: Body = ReadingTaken(step="level", reading=tilted)
    overruled = StepAccepted(step="level", verdict=Verdict.MOVE, reason="The floor moves.")
    library.append(fitting.id, reading)
    library.append(fitting.id, overruled)
    assert agrees(library, fitting.id).kept == 1
    again = library.append(fitting.id, reading)
    assert agrees(library, fitting.id).kept == 0
    library.append(fitting.id, Withdrawn(entry=again.id))
    assert agrees(library, fitting.id).kept == 1
    entries = library.fitting(fitting.id).entries
    library.append(fitting.id, Withdrawn(entry=entries[1].id))
    assert agrees(library, fitting.id).kept == 0


def test_what_is_kept_beside_the_log_is_the_same_however_the_log_came(
    library: Library, ids: tuple[str, str]
) -> None:
    one = keep(library, "2024-03-01", *ids)
    row = row_of(library, one.id)
    with library.transaction():  # as a program of before has kept it
        library._backend.update(
            "fittings", {"reached": "?", "kept": 9, "checked_at": ""}, {"id": one.id}
        )
        library._backend.update("things", {"check_months": -1}, {"id": ids[0]})
    library.sum_up_unknown()
    assert row_of(library, one.id) == row


def test_a_deck_is_due_so_many_months_after_its_last_fitting(
    library: Library, ids: tuple[str, str]
) -> None:
    keep(library, "2023-03-01", *ids)
    last = keep(library, "2024-01-31", *ids)
    rows = {row.id: row for row in map(library.log.listing().row, range(2))}
    # The same day of the month twelve months later.
    assert rows[last.id].due == date(2025, 1, 31)
    assert [row.due for row in rows.values() if row.id != last.id] == [None]
    listing = library.deck_listing()
    place = listing.place_of(ids[0])
    assert place is not None
    work = listing.row(place).work
    assert work is not None
    assert (work.due, work.months, work.cartridge_name) == (date(2025, 1, 31), 12, "Own pick")
    assert listing.find(order="due")[0] == place, "what has no date stands last"
    library.archive_fitting(last.id)
    place = library.deck_listing().place_of(ids[0])
    assert place is not None
    work = library.deck_listing().row(place).work
    assert work is not None
    assert work.due == date(2024, 3, 1)


def test_lists_are_narrowed_to_what_is_due_mine_under_way_or_overruled(
    library: Library, ids: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    deck_id, pick = ids
    done = keep(library, "2024-03-01", deck_id, pick)
    other = library.keep_deck(deck(name="Other deck", check_months=12)).id
    mine = library.start_fitting(other, pick, who="Ann", at=noon("2025-02-01")).id
    overruled = StepAccepted(step="level", verdict=Verdict.MOVE, reason="The floor moves.")
    library.append(mine, overruled, at=noon("2025-02-01"))

    class Today(date):
        """A day on which the first deck will be due in 30 days."""

        @classmethod
        def today(cls) -> date:
            return date(2025, 1, 30)

    monkeypatch.setattr("core.store.listing.date", Today)

    def found(**how: object) -> list[str]:
        listing = library.log.listing()
        return [listing.ids[place] for place in listing.find(**how)]  # type: ignore[arg-type] # of a table

    def decks(**how: object) -> list[str]:
        listing = library.deck_listing()
        return [listing.ids[place] for place in listing.find(**how)]  # type: ignore[arg-type] # of a table

    for what, fittings, of_decks in (
        ("due", [done.id], [deck_id]),
        ("mine", [mine], [other]),
        ("kept", [mine], [other]),
        ("under way", [mine], [other]),
    ):
        assert found(only=frozenset({what}), me="ann") == fittings, what
        assert decks(only=frozenset({what}), me="ann") == of_decks, what
    # Typed as words they find the same.
    for word, expected in (("due", [done.id]), ("mine", [mine]), ("kept", [mine])):
        assert found(words=word, me="Ann") == expected, word
    assert decks(words="due") == [deck_id]
    assert decks(words="mine", me="Ann") == [other]
    Today.today = classmethod(lambda _cls: date(2025, 1, 29))  # type: ignore[method-assign,assignment] # a day before
    assert found(only=frozenset({"due"})) == []


def test_a_deck_shows_the_fitting_worked_on_last(library: Library, ids: tuple[str, str]) -> None:
    keep(library, "2024-03-01", *ids)
    library.start_fitting(*ids, who="Ann", at=datetime.now().astimezone())
    listing = library.deck_listing()
    place = listing.place_of(ids[0])
    assert place is not None
    work = listing.row(place).work
    assert work is not None
    assert (work.finished, work.reached, work.who) == (False, "1 level", "Ann")
    assert work.due == date(2025, 3, 1), "a check stays due while it is made"
    assert listing.find(order="reached")[0] == place
