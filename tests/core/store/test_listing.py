"""Lists of a shop: what is found is what a plain search would find, in the order asked for."""

from __future__ import annotations

import random
import time
import unicodedata
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.fitting import Finished
from core.store import FittingRow, Library, LibraryProblem
from core.store.exporting import of_cartridges, of_decks, of_fittings
from core.store.listing import FittingListing, RecordListing, date_span, natural
from core.store.rows import stamp
from tests.core.store.conftest import an_address
from tests.examples import cartridge, deck

FITTINGS = 500
REFERENCES = ("Job {n}", "Müller {n}", "受付 {n}", "הזמנה {n}", "blue 🔵 {n}", "", "100% {n}_x")
WORDS = (
    "",
    "job",
    "JOB 1",
    "müller 2",
    "受付",
    "הזמנה 3",
    "🔵",
    "100%",
    "_x",
    "elliptical",
    "oak no. 7",
    "ann",
    "2025-03",
    "2025-03-1",
    "2024 job",
    "2025",
    "archived",
    "under way",
    "in progress",
    "finished",
    "fini ann",
    "zzz",
)


@pytest.fixture(scope="module")
def shop(engine: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    """A library with 500 fittings of 40 decks and 25 cartridges, some of all put away."""
    chance = random.Random(3)
    with Library.open(an_address(engine, tmp_path_factory.mktemp("shop"), "shop")) as library:
        with library.transaction():
            stock(library, chance)
        yield library


def stock(library: Library, chance: random.Random) -> None:
    """Fill the shelves."""
    decks = [
        library.keep_deck(
            deck(
                name=f"Deck in {chance.choice(('oak', 'Ash'))}, no. {number}",
                owner_reference=REFERENCES[number % len(REFERENCES)].format(n=number),
            )
        ).id
        for number in range(40)
    ]
    cartridges = [
        library.keep_cartridge(
            cartridge(name=f"Cartridge, {chance.choice(('elliptical', 'mono'))}, no. {number}")
        ).id
        for number in range(25)
    ]
    for _ in range(FITTINGS):
        at = datetime(2023, 1, 1, tzinfo=UTC) + timedelta(hours=chance.randrange(26_000))
        who = chance.choice(("Ann", "ben", ""))
        one = library.start_fitting(chance.choice(decks), chance.choice(cartridges), who=who, at=at)
        if chance.random() < 0.7:
            library.append(one.id, Finished(), at=at + timedelta(hours=chance.randrange(900)))
        if chance.random() < 0.1:
            library.archive_fitting(one.id)
    library.archive("deck", [*decks[:4]], archived=True)


def local(moment: datetime) -> str:
    return time.strftime("%Y-%m-%d %H:%M", time.localtime(moment.timestamp()))


def holds(row: FittingRow, word: str) -> bool:
    """Whether a plain search finds a word in a row."""
    texts = (row.deck_name, row.owner_reference, row.cartridge_name, row.who)
    if any(word in unicodedata.normalize("NFC", text.casefold()) for text in texts):
        return True
    if len(word) >= 4 and word[:4].isdigit():
        return any(local(at).startswith(word) for at in (row.started_at, row.last_at))
    state = "finished" if row.finished else "in progress under way"
    said = f"{state} archived" if row.archived else state
    return any(one == word or (len(word) >= 4 and one.startswith(word)) for one in said.split())


def rows_of(listing: FittingListing, places: list[int]) -> list[FittingRow]:
    return [listing.row(place) for place in places]


def test_a_listing_is_the_list_the_last_worked_on_first(shop: Library) -> None:
    listing = shop.log.listing()
    assert len(listing) == FITTINGS
    found = rows_of(listing, listing.find(archived=True))
    # A list knows of each row how it stands besides.
    known = [row[: FittingRow._fields.index("reached")] for row in found]
    assert sorted(known) == sorted(row[: len(known[0])] for row in shop.fittings())
    assert [row.last_at for row in found] == [row.last_at for row in shop.fittings()]
    assert rows_of(listing, listing.find()) == [row for row in found if not row.archived]
    assert listing.count(archived=False) == len(listing.find()) < listing.count(archived=True)


@pytest.mark.parametrize("words", WORDS)
@pytest.mark.parametrize("archived", [False, True])
def test_every_word_is_found_where_a_plain_search_finds_it(
    shop: Library, words: str, *, archived: bool
) -> None:
    for finished in (None, False, True):
        listing = shop.log.listing(finished=finished)
        expected = {
            row.id
            for row in shop.fittings(finished=finished, archived=None if archived else False)
            if all(holds(row, word) for word in words.casefold().split())
        }
        found = listing.find(words, archived=archived)
        assert {listing.ids[place] for place in found} == expected
        assert len(found) == len(expected)


def test_the_words_tried_above_find_something_and_not_everything(shop: Library) -> None:
    listing = shop.log.listing()
    for words in WORDS:
        found = len(listing.find(words, archived=True))
        assert (found == 0) == (words == "zzz"), words
        assert (found == FITTINGS) == (words == ""), words


@pytest.mark.parametrize("descending", [False, True])
@pytest.mark.parametrize(
    "order",
    ["deck_name", "owner_reference", "cartridge_name", "started_at", "last_at", "who",
     "entry_count"],
)  # fmt: skip # rows of a table
def test_every_column_sorts_and_what_is_empty_stands_last(
    shop: Library, order: str, *, descending: bool
) -> None:
    listing = shop.log.listing()
    found = rows_of(listing, listing.find(order=order, descending=descending, archived=True))
    values = [getattr(row, order) for row in found]
    filled = [value for value in values if value != ""]
    assert values[len(filled) :] == [""] * (len(values) - len(filled))
    keys = [natural(value) if isinstance(value, str) else (value,) for value in filled]
    assert keys == sorted(keys, reverse=descending)
    # Where two are alike, the one last worked on stands first, whichever way it is sorted.
    again = [(getattr(row, order), row.last_at) for row in found]
    for (value, at), (following, later) in pairwise(again):
        assert value != following or at >= later


def test_numbers_in_texts_sort_as_numbers(library: Library) -> None:
    for name in ("Job 10", "job 9", "Job 100", "Älter 1", "alt 2"):
        library.keep_deck(deck(name=f"Z {name}", owner_reference=name))
    library.keep_deck(deck(name="Z none", owner_reference=""))
    listing = library.deck_records.listing()
    found = [
        listing.row(place).owner_reference for place in listing.find("z", order="owner_reference")
    ]
    assert found == ["alt 2", "job 9", "Job 10", "Job 100", "Älter 1", ""]
    found = [listing.row(place).name for place in listing.find("z job")]
    assert found == ["Z job 9", "Z Job 10", "Z Job 100"]


def test_things_are_found_by_name_reference_feature_and_day(library: Library) -> None:
    kept = library.keep_deck(deck(name="Own one", owner_reference="Job 5"))
    day = local(kept.at)[:10]

    def found(words: str, listing: RecordListing) -> list[str]:
        return [listing.row(place).name for place in listing.find(words)]

    decks = library.deck_records.listing()
    for words in ("own", "job 5", "OWN pivoted angle", f"own {day}", f"own {day[:7]}"):
        assert found(words, decks) == ["Own one"], words
    assert found("own archived", decks) == []
    library.archive("deck", [kept.id], archived=True)
    decks = library.deck_records.listing()
    assert found("own", decks) == []
    assert [decks.row(place).id for place in decks.find("archived", archived=True)] == [kept.id]
    library.keep_cartridge(cartridge(name="Own pick", stylus="line contact"))
    cartridges = library.cartridge_records.listing()
    assert found("own line contact", cartridges) == ["Own pick"]
    assert found("own elliptical", cartridges) == []


def test_an_accent_is_found_however_it_was_written(library: Library) -> None:
    apart, together = (unicodedata.normalize(form, "Gehäuse é") for form in ("NFD", "NFC"))
    library.keep_deck(deck(name="One", owner_reference=apart))
    library.keep_deck(deck(name="Two", owner_reference=together))
    listing = library.deck_records.listing()
    for words in (apart, together, together.upper()):
        assert {listing.row(place).name for place in listing.find(words)} == {"One", "Two"}
    # What was typed stays as it was typed.
    assert [row.owner_reference for row in library.decks() if row.name == "One"] == [apart]


ZONES = ("UTC", "Pacific/Auckland", "America/St_Johns", "Pacific/Kiritimati")


@pytest.fixture(params=ZONES)
def zone(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The computer's clock in another part of the world."""
    if not hasattr(time, "tzset"):
        pytest.skip("this system's clock can't be set for one program")
    monkeypatch.setenv("TZ", request.param)
    time.tzset()
    yield request.param
    monkeypatch.undo()
    time.tzset()


def test_a_date_means_that_day_by_the_clock_on_the_wall(zone: str) -> None:
    chance = random.Random(zone)
    beginnings = ["2024-1", "2024-12-3", "2025-02-2", "2025-0", "2025-03-30", "2024-02-29"]
    moments = [
        datetime(2024, 1, 1, tzinfo=UTC) + timedelta(minutes=chance.randrange(1_100_000))
        for _ in range(400)
    ]
    for at in moments:
        shown = local(at)[:10]
        for typed in [shown[:length] for length in range(4, 11)] + beginnings:
            since, until = date_span(typed) or ("", "")
            assert (since <= stamp(at) < until) == shown.startswith(typed), (typed, shown)


@given(typed=st.text("0123456789-", min_size=0, max_size=11))
@settings(max_examples=300, deadline=None)
def test_whatever_digits_are_typed_they_are_a_span_or_no_date(typed: str) -> None:
    span = date_span(typed)
    if span is not None:
        assert span[0] < span[1]
        assert len(typed) >= 4


@pytest.mark.parametrize(
    "typed", ["", "202", "2025-13", "2025-02-30", "2025-03-32", "0000", "20251"]
)
def test_what_is_no_date_is_looked_for_as_a_word_only(typed: str) -> None:
    assert date_span(typed) is None


def test_rows_come_in_the_order_asked_for_however_many(shop: Library) -> None:
    ids = [row.id for row in shop.fittings()]
    random.Random(1).shuffle(ids)
    asked = [*ids, "no such one", *ids[:3]]
    assert [row.id for row in shop.log.rows_of(asked)] == [*ids, *ids[:3]]
    by_id = {row.id: row for row in shop.fittings()}
    assert all(row == by_id[row.id] for row in shop.log.rows_of(ids))
    decks = [row.id for row in shop.decks()][::-1]
    assert [row.id for row in shop.deck_records.rows_of(decks)] == decks
    assert shop.cartridge_records.rows_of(decks) == ()
    assert shop.log.rows_of([]) == ()


def test_many_are_put_away_together_or_not_at_all(shop: Library) -> None:
    listing = shop.log.listing()
    ids = [listing.ids[place] for place in listing.find()]
    with pytest.raises(LibraryProblem):
        shop.archive_fitting(*ids, "no such one")
    assert shop.log.listing().count(archived=False) == len(ids)
    shop.archive_fitting(*ids)
    assert shop.log.listing().count(archived=False) == 0
    shop.archive_fitting(*ids, archived=False)
    assert [row.id for row in rows_of(listing, listing.find())] == ids
    assert shop.log.listing().count(archived=True) == FITTINGS


def test_an_empty_library_has_empty_lists(library: Library) -> None:
    listing = library.log.listing()
    assert (len(listing), listing.find("oak"), listing.find(order="who")) == (0, [], [])
    assert listing.place_of("x") is None


def test_a_document_of_many_names_a_few_and_counts_the_rest(shop: Library) -> None:
    rows = [row for row in shop.decks() if row.name.startswith("Deck in")]
    chosen = of_decks(shop, *[row.id for row in rows])
    assert chosen.title == f"{', '.join(row.name for row in rows[:3])} and 37 more"
    assert set(chosen.fittings) == {row.id for row in shop.fittings()}
    ids = [row.id for row in shop.fittings()]
    assert of_fittings(shop, *ids).fittings == tuple(ids)
    for choose in (of_decks, of_cartridges, of_fittings):
        with pytest.raises(LibraryProblem, match="no such one"):
            choose(shop, "no such one")


def test_what_was_looked_for_before_changes_nothing(shop: Library) -> None:
    chance = random.Random(6)
    used, orders = shop.log.listing(), ("", "owner_reference", "who")
    typed = order = ""
    descending = False
    for turn in range(120):
        match chance.randrange(4):
            case 0:
                typed = chance.choice(WORDS)
            case 1:
                typed = typed[:-1]
            case _:
                typed += chance.choice(("a", " ", "2", " job 1", " 2025", "o", " oak"))
        if turn % 12 == 0:
            order, descending = chance.choice(orders), chance.random() < 0.5
        archived = turn % 3 > 0
        found, expected = (
            one.find(typed, order=order, descending=descending, archived=archived)
            for one in (used, shop.log.listing())
        )
        assert found == expected, typed


def test_a_list_of_one_or_two_is_searched_like_a_long_one(library: Library) -> None:
    deck_id = library.keep_deck(deck(name="Deck in oak")).id
    for count in (1, 2):
        cartridge_id = library.keep_cartridge(cartridge(name=f"Cartridge no. {count}")).id
        library.start_fitting(
            deck_id, cartridge_id, who="Ann", at=datetime(2025, 3, 9 + count, tzinfo=UTC)
        )
        listing = library.log.listing()
        for words, found in (("oak", count), ("ANN", count), ("2025-03", count), ("ash", 0)):
            assert len(listing.find(words)) == found
        assert [listing.row(at).cartridge_name for at in listing.find("no. 2")] == [
            "Cartridge no. 2"
        ][: count - 1]


# The order wanted of hits is this project's own rule; no source outside states one.


def test_the_first_hit_is_the_number_that_was_typed(library: Library) -> None:
    for name, reference in (
        ("Example deck, a", "2025-02705"),
        ("Example deck, b, no. 2705", "R-1"),
        ("Example deck, c", "2705"),
        ("Example deck, d", "02705"),
        ("Example deck, e", "27056"),
        ("Example deck, f, no. 12705", ""),
    ):
        library.keep_deck(deck(name=name, owner_reference=reference))
    listing = library.deck_records.listing()
    for words in ("2705", "no. 2705", "No 2705", "#2705", "nr. 2705"):
        names = [listing.row(place).name[14] for place in listing.find(words)]
        # Just the number; then a name that holds it as a word; then what begins so; then the rest.
        assert names == ["c", "b", "e", "a", "d", "f"], words
    # A column that is sorted by stays sorted.
    by_name = [listing.row(place).name[14] for place in listing.find("2705", order="name")]
    assert by_name == ["a", "b", "c", "d", "e", "f"]


def test_words_come_before_beginnings_and_these_before_what_lies_inside(library: Library) -> None:
    for name in ("Soaked arm", "Oaken arm", "Arm in oak, long", "Oak"):
        library.keep_deck(deck(name=name, owner_reference=""))
    listing = library.deck_records.listing()
    found = [listing.row(place).name for place in listing.find("oak")]
    assert found == ["Oak", "Arm in oak, long", "Oaken arm", "Soaked arm"]


def test_the_first_fitting_found_is_that_of_the_deck_typed(library: Library) -> None:
    begun = datetime(2025, 1, 1, tzinfo=UTC)
    pick = library.keep_cartridge(cartridge(name="Own pick")).id
    for number, reference in enumerate(("2705", "2025-02705", "12705")):
        one = library.keep_deck(deck(name=f"Deck {number}", owner_reference=reference)).id
        library.start_fitting(one, pick, at=begun + timedelta(days=number))
    listing = library.log.listing()
    assert listing.row(listing.find()[0]).owner_reference == "12705"
    found = [row.owner_reference for row in rows_of(listing, listing.find("no. 2705"))]
    assert found[0] == "2705"
    assert set(found) == {"2705", "2025-02705", "12705"}


def test_a_record_is_found_by_its_own_number(library: Library) -> None:
    kept = library.keep_deck(deck(name="Own one", owner_reference="")).id
    pick = library.keep_cartridge(cartridge(name="Own pick")).id
    fitting = library.start_fitting(kept, pick).id
    for number, listing in (
        (fitting, library.log.listing()),
        (kept, library.deck_records.listing()),
        (pick, library.cartridge_records.listing()),
    ):
        for typed in (number, number[:8], number.upper()):
            assert [listing.ids[place] for place in listing.find(typed)] == [number]
