"""When service is due again, with days counted by hand on a calendar."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest

from core.language import Numbers
from core.maintenance.due import Due, DueKind, Urgency, due_of
from core.maintenance.search import DueDeck, DueSearch
from core.maintenance.service_due import Done, service_dues
from core.records import Service, ServicePart
from core.store import Library
from tests.examples import deck

BELT, BEARING, OTHER = ServicePart.BELT, ServicePart.BEARING, ServicePart.OTHER
TODAY = date(2026, 3, 1)


def done(
    part: ServicePart,
    day: str,
    months: int | None = None,
    hours: float | None = None,
    words: str = "Done",
) -> Done:
    return Done(part, date.fromisoformat(day), words, months, hours)


def only(entries: list[Done], rate: float | None = None) -> Due:
    (due,) = service_dues(entries, rate, TODAY)
    return due


def test_months_are_those_of_the_calendar() -> None:
    # 2026 has no 29 February: its last day of that month.
    due = only([done(BELT, "2024-02-29", months=24, words="New belt")])
    assert (due.kind, due.on, due.status) == (DueKind.BELT, date(2026, 2, 28), Urgency.DUE)
    assert Numbers().text(due.sentence) == (
        "Last done on 2024-02-29: New belt. Due again 24 months later, on 2026-02-28, 1 day ago."
    )
    assert "mains plug" in Numbers().text(due.to_do)


def test_how_far_away_it_is_is_not_told_twice() -> None:
    due = only([done(BELT, TODAY.isoformat(), months=24, words="New belt")])
    end = Numbers().text(due.sentence).partition("Due again 24 months later, on ")[2]
    assert end == f"{TODAY.replace(year=TODAY.year + 2).isoformat()}."


def test_hours_of_play_are_counted_by_what_the_deck_is_played_a_week() -> None:
    # 100 h at 10 h a week are 70 days: from 1 January 2026 to 12 March (30 + 28 + 12).
    due = only([done(BEARING, "2026-01-01", hours=100)], 10.0)
    assert (due.on, due.is_due) == (date(2026, 3, 12), False)
    # 11 days of 70 are left: more than a tenth.
    assert due.status is Urgency.LATER
    # What comes first counts: two months after 1 January are over on 1 March.
    both = only([done(BEARING, "2026-01-01", months=2, hours=100)], 10.0)
    assert (both.on, both.is_due) == (date(2026, 3, 1), True)


def test_hours_without_a_rate_have_no_date_and_say_what_to_enter() -> None:
    due = only([done(BEARING, "2020-01-01", hours=100)])
    assert (due.on, due.is_due, due.status) == (None, False, Urgency.UNDATED)
    assert Numbers().text(due.to_do).startswith("Say on the deck's form")


def test_the_newest_of_a_part_counts_and_one_without_a_term_ends_it() -> None:
    old = done(BELT, "2020-01-01", months=12)
    assert only([done(BELT, "2025-12-01", months=12), old]).on == date(2026, 12, 1)
    assert service_dues([old, done(BELT, "2025-12-01")], None, TODAY) == ()
    assert len(service_dues([old, done(BEARING, "2025-12-01")], None, TODAY)) == 1
    two = [
        done(OTHER, "2024-01-01", months=1, words="Lid polished"),
        done(OTHER, "2025-01-01", months=1, words="Hinge oiled"),
        done(OTHER, "2026-02-15", months=1, words="lid  polished"),
    ]
    assert [due.on for due in service_dues(two, None, TODAY)] == [
        date(2026, 3, 15),
        date(2025, 2, 1),
    ]


def test_a_deck_without_a_fitting_has_its_service_due() -> None:
    found = due_of(deck(), None, [], TODAY, services=[done(BELT, "2020-01-01", months=12)])
    assert [due.kind for due in found] == [DueKind.BELT]


@pytest.fixture
def library(tmp_path: Path) -> Library:
    return Library.open(tmp_path / "test.library")


def searched(library: Library) -> tuple[DueDeck, ...]:
    search = DueSearch(library)
    search.begin()
    while not search.is_done:
        search.go_on()
    return search.due(TODAY)


def test_the_search_finds_service_that_is_due_on_decks_in_use(library: Library) -> None:
    ids = [library.keep_deck(deck(name=f"Deck {n}", hours_a_week=10.0)).id for n in range(4)]
    for place, (day, months, hours) in enumerate(
        [
            ("2024-01-01", 12, None),
            ("2025-12-01", None, 100.0),
            ("2020-01-01", 1, None),
            ("2026-02-01", 12, None),
        ]
    ):
        library.service.add(
            Service(
                deck=ids[place], part=BELT, day=day, done="New belt", months=months, hours=hours
            ),
            f"entry {place}",
            who="Ann",
        )
    library.archive("deck", [ids[2]], archived=True)
    found = searched(library)
    # 100 h at 10 h a week from 1 December 2025: 70 days, 9 February 2026 (30 + 31 + 9).
    assert [(one.deck_id, one.on) for one in found] == [
        (ids[0], date(2025, 1, 1)),
        (ids[1], date(2026, 2, 9)),
    ]
    assert [Numbers().text(one.why) for one in found] == [
        "Belt: due after 12 months.",
        "Belt: due after 100\u00a0h of play.",
    ]
    library.service.withdraw("entry 0", "2026-01-01", who="Ann")
    assert [one.deck_id for one in searched(library)] == [ids[1]]
    library.close()


def test_no_portion_of_the_search_asks_for_many_decks(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []
    in_use = library.service.decks_in_use

    def noted(ids: Sequence[str]) -> frozenset[str]:
        asked.append(len(ids))
        return in_use(ids)

    monkeypatch.setattr(library.service, "decks_in_use", noted)
    with library.transaction():
        for number in range(130):
            kept = library.keep_deck(deck(name=f"Deck {number}"))
            entry = Service(deck=kept.id, part=BELT, day="2020-01-01", done="New belt", months=1)
            library.service.add(entry, who="Ann")
    assert len(searched(library)) == 130
    assert (max(asked), sum(asked)) == (25, 130)
    library.close()
