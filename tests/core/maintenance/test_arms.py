"""What falls due on a deck with several arms: each by itself, the deck's once."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from core.fitting import ArmUsed, Finished, HoursRead
from core.maintenance.due import DueKind, due_of
from core.maintenance.search import DueSearch
from core.records import first_arm
from core.steps.shared.swap_part import Past
from core.store import Library
from tests.arms import REAR, rear_arm, two_arms
from tests.examples import cartridge
from tests.visits import bodies, fitting, noon, past
from tests.worded import worded

FRONT_USED, REAR_USED = ArmUsed.of(first_arm(two_arms())), ArmUsed.of(rear_arm())
TODAY = date(2026, 2, 20)


def visit(day: str, used: ArmUsed, cartridge_id: str, hours: float | None = None) -> Past:
    said = (used, *bodies(hours=hours))
    return past(fitting(day, said=said, cartridge_id=cartridge_id), on=two_arms())


def test_each_arm_is_due_a_year_after_its_own_check() -> None:
    pasts = [visit("2025-02-10", FRONT_USED, "a"), visit("2025-06-10", REAR_USED, "b")]
    checks = {
        due.arm: (str(due.on), due.is_due)
        for due in due_of(two_arms(), cartridge(), pasts, TODAY)
        if due.kind is DueKind.CHECK
    }
    assert checks == {"Front arm": ("2026-02-10", True), "Rear arm": ("2026-06-10", False)}


def test_a_stylus_wears_on_the_arm_that_it_is_on() -> None:
    pasts = [
        visit("2025-02-10", FRONT_USED, "a", hours=900.0),
        visit("2025-06-10", REAR_USED, "b", hours=10.0),
    ]
    on_arms = {"": cartridge(), REAR: cartridge()}
    dues = due_of(two_arms(), cartridge(), pasts, TODAY, on_arms=on_arms)
    worn = {due.arm: due.is_due for due in dues if due.kind is DueKind.STYLUS}
    assert worn == {"Front arm": True, "Rear arm": False}
    titles = [worded(due.title) for due in dues if due.kind is DueKind.STYLUS]
    assert any(title.startswith("Front arm: Stylus") for title in titles)


def test_hours_go_with_a_cartridge_from_arm_to_arm() -> None:
    pasts = [
        visit("2025-02-10", FRONT_USED, "a", hours=900.0),
        visit("2025-06-10", REAR_USED, "a"),
    ]
    on_arms = {"": cartridge(), REAR: cartridge()}
    dues = due_of(two_arms(), cartridge(), pasts, TODAY, on_arms=on_arms)
    assert {due.arm: due.is_due for due in dues if due.kind is DueKind.STYLUS}["Rear arm"]


def test_an_arm_that_was_put_away_falls_due_no_more() -> None:
    away = two_arms(further_arms=(rear_arm(put_away=True),))
    pasts = [visit("2025-02-10", FRONT_USED, "a"), visit("2020-06-10", REAR_USED, "b")]
    assert {due.arm for due in due_of(away, cartridge(), pasts, TODAY) if due.arm} == {"Front arm"}


def test_the_list_of_decks_due_names_the_arm(tmp_path: Path) -> None:
    with Library.open(tmp_path / "one.library") as library:
        deck_id = library.keep_deck(two_arms()).id
        one = library.keep_cartridge(cartridge()).id
        for key, day in (("", "2025-12-01"), (REAR, "2024-12-01")):
            begun = library.start_fitting(deck_id, one, arm_key=key, at=noon(day))
            library.append(begun.id, HoursRead(hours=1.0), at=noon(day))
            library.append(begun.id, Finished(), at=noon(day))

        def due() -> list[str]:
            search = DueSearch(library)
            search.begin()
            while not search.is_done:
                search.go_on()
            return [worded(found.why) for found in search.due(TODAY) if found.deck_id == deck_id]

        assert due() == ["Check of Rear arm: due after 12 months."]
        library.keep_deck(two_arms(further_arms=(rear_arm(put_away=True),)), id=deck_id)
        assert due() == []
