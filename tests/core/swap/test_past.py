"""A swap through the library: begun, kept, read again, gone back, carried to another bench."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from core.fitting import Finished, ThingsRevised
from core.store import Library, LibraryProblem
from core.store.documents import read_document
from core.store.exporting import of_decks, write_document
from core.store.importing import plan as to_take_in
from core.store.importing import take_in
from core.swap import compare, past_of, plan_swap
from tests.core.swap.swaps import left, weighed
from tests.examples import cartridge, deck


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    with Library.open(tmp_path / "bench.library", who="Ada") as opened:
        yield opened


def test_a_past_knows_the_revisions_it_worked_with(library: Library) -> None:
    kept, fitted = library.keep_deck(deck()), library.keep_cartridge(cartridge())
    fitting = library.start_fitting(kept.id, fitted.id)
    library.keep_deck(deck(arm={"offset_deg": 22.0}), id=kept.id)
    before = past_of(library, fitting.id)
    assert (before.deck_revision, before.deck.arm.offset_deg) == (1, 22.986)
    library.append(fitting.id, ThingsRevised(deck_revision=2, cartridge_revision=1))
    after = past_of(library, fitting.id)
    assert (after.deck_revision, after.deck.arm.offset_deg) == (2, 22.0)
    assert after.cartridge == cartridge()
    with pytest.raises(LibraryProblem):
        past_of(library, "no such fitting")


def test_a_swap_there_and_back_is_kept_compared_and_carried_along(
    library: Library, tmp_path: Path
) -> None:
    kept = library.keep_deck(deck())
    one = library.keep_cartridge(cartridge())
    other = library.keep_cartridge(cartridge(name="Example cartridge, heavier", mass_g=8.0))
    first = library.start_fitting(kept.id, one.id)
    for body in (*left(), Finished()):
        library.append(first.id, body)

    planned = plan_swap(kept.thing, past_of(library, first.id), other.thing).planned()
    second = library.start_fitting(kept.id, other.id, planned=planned)
    library.append(second.id, weighed(2.1, "rough_downforce"))
    library.append(second.id, Finished())
    past = past_of(library, second.id)
    assert past.fitting.planned == planned
    told = {foretold.key: foretold.error for foretold in compare(past.journey)}
    assert told["downforce"] is not None
    assert told["pillar"] is None  # not read

    rows = library.fittings(deck_id=kept.id)
    history = [past_of(library, row.id) for row in rows]
    back = plan_swap(kept.thing, past, one.thing, history, new_cartridge_id=one.id)
    assert back.back_to is not None
    assert back.back_to.fitting.id == first.id

    write_document(library, tmp_path / "deck.json", of_decks(library, kept.id))
    with Library.open(tmp_path / "other.library") as elsewhere:
        take_in(elsewhere, to_take_in(elsewhere, read_document(tmp_path / "deck.json")), {})
        carried = past_of(elsewhere, second.id)
        assert carried.fitting == past.fitting
        assert compare(carried.journey) == compare(past.journey)
