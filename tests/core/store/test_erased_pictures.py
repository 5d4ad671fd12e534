"""What a picture showed is erased for good if somebody wants that; that there was one stays."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from pydantic import ValidationError

from core.language import Numbers
from core.records import KeptPicture, PictureOf
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind
from core.store.addresses import address_of
from core.store.documents import Document, document_from
from core.store.exporting import of_decks, with_pictures
from core.store.importing import ImportDecision, MatchKind, plan, take_in
from core.store.jpeg import Content
from core.store.rescue import rescue
from core.store.taking_back import take_back
from tests.core.store.worked import content_of
from tests.examples import deck
from tests.jpegs import jpeg

DAY = date(2025, 3, 1)


def content(mark: int) -> Content:
    return Content.of(jpeg(640, 480, mark), jpeg(64, 48, mark))


def add(library: Library, thing: str, mark: int = 1, caption: str = "seen") -> str:
    return library.pictures.add(
        PictureOf.DECK, thing, content(mark), who="Ann", day=DAY, caption=caption
    ).id


@pytest.fixture
def deck_id(library: Library) -> str:
    return library.keep_deck(deck()).id


@pytest.fixture
def erased(library: Library, deck_id: str) -> str:
    one = add(library, deck_id)
    library.pictures.withdraw(one, "2025-04-01", who="Ann")
    assert library.erase_picture(one, who="Ben")
    return one


def document_of(library: Library, deck_id: str) -> Document:
    selection = with_pictures(library, of_decks(library, deck_id))
    return document_from(content_of(library, selection), "one.json")


def of_all(library: Library, deck_id: str) -> list[tuple[str, bool, bool]]:
    return [
        (
            one.thing.caption,
            bool(one.thing.erased),
            library.pictures.image(one.thing.content) is None,
        )
        for one in library.pictures.of("deck", deck_id, withdrawn=True)
    ]


def test_only_the_entry_is_left_and_says_when_and_by_whom(
    library: Library, deck_id: str, erased: str
) -> None:
    kept = library.pictures.records.get(erased)
    assert (kept.who, kept.thing.caption, kept.thing.withdrawn) == ("Ben", "seen", "2025-04-01")
    assert kept.thing.erased
    assert library._backend.select("picture_contents", ("hash",)) == []
    assert [one.thing.erased for one in library.pictures.records.history(erased)][:2] == ["", ""]
    with pytest.raises(LibraryProblem, match="was erased on") as caught:
        library.pictures.withdraw(erased, "", who="Ann")
    assert caught.value.kind is ProblemKind.UNSUITABLE
    assert library.erase_picture(erased)
    assert library.pictures.records.get(erased) == kept, "twice is once"
    assert library.faults() == []


def test_a_picture_that_counts_is_not_erased(library: Library, deck_id: str) -> None:
    one = add(library, deck_id)
    with pytest.raises(LibraryProblem, match="Withdraw the picture first"):
        library.erase_picture(one)
    assert library.pictures.image(content(1).hash) is not None
    with pytest.raises(ValidationError, match="counts no longer"):
        KeptPicture(
            of=PictureOf.DECK, thing="a", content="0" * 64, day="2025-01-01", erased="2025-01-01"
        )


def test_what_another_thing_shows_as_well_stays_there(library: Library, deck_id: str) -> None:
    other = library.keep_deck(deck(name="Other")).id
    one, two = add(library, deck_id), add(library, other)
    library.pictures.withdraw(one, "2025-04-01", who="Ann")
    library.erase_picture(one)
    assert library.pictures.image(content(1).hash) == jpeg(640, 480, 1)
    assert library.pictures.with_content(content(1).hash) == (two,)


def test_added_once_more_it_is_another_picture(library: Library, deck_id: str, erased: str) -> None:
    again = add(library, deck_id, caption="again")
    assert again != erased
    assert of_all(library, deck_id) == [("seen", True, False), ("again", False, False)]
    assert library.pictures.count_of("deck", deck_id) == 1


def test_no_document_brings_back_what_was_erased_here(
    library: Library, deck_id: str, other_address: LibraryAddress
) -> None:
    one = add(library, deck_id)
    before = document_of(library, deck_id)
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, before), {})
        other.pictures.say(one, "said there", who="Cleo")
        other.keep_deck(deck(notes="there"), id=deck_id)
        later = document_of(other, deck_id)
    library.keep_deck(deck(notes="here"), id=deck_id)
    library.pictures.withdraw(one, "2025-04-01", who="Ann")
    library.erase_picture(one)
    for document in (before, later):
        planned = plan(library, document)
        decided = {item.id: ImportDecision.BOTH for item in planned.conflicts}
        take_in(library, planned, decided)
        assert library._backend.select("picture_contents", ("hash",)) == []


def test_no_document_erases_here_but_it_is_said_what_was_erased_there(
    library: Library, deck_id: str, other_address: LibraryAddress
) -> None:
    one = add(library, deck_id)
    with Library.open(other_address, "Other") as other:
        take_in(other, plan(other, document_of(library, deck_id)), {})
        other.pictures.withdraw(one, "2025-04-01", who="Cleo")
        other.erase_picture(one)
        document = document_of(other, deck_id)
    assert document.contents == ()
    planned = plan(library, document)
    (item,) = (one for one in planned.items if one.sort == "picture")
    assert (item.status, bool(item.erased_there)) == (MatchKind.SAME, True)
    take_in(library, planned, {})
    assert of_all(library, deck_id) == [("seen", False, False)]


def test_the_entry_alone_goes_to_another_bench(
    library: Library, deck_id: str, erased: str, other_address: LibraryAddress
) -> None:
    with Library.open(other_address, "Other") as other:
        document = document_of(library, deck_id)
        brought = take_in(other, plan(other, document), {})
        assert of_all(other, deck_id) == [("seen", True, True)]
        assert plan(other, document).count(MatchKind.SAME) == 2
        take_back(other, brought)
        assert other.pictures.of("deck", deck_id, withdrawn=True) == ()


# the file itself


NOTICEABLE = b"seen-nowhere-else-"


def noticeable(library: Library, deck_id: str) -> tuple[str, bytes]:
    """Keep a picture among others whose bytes can be told in a file; return a piece of them."""
    for mark in range(2, 12):
        add(library, deck_id, mark)
    middle = NOTICEABLE * 3000
    whole, small = jpeg(640, 480, 1), jpeg(64, 48, 1)
    made = Content.of(whole[:-2] + middle + whole[-2:], small[:-2] + NOTICEABLE * 90 + small[-2:])
    kept = library.pictures.add(PictureOf.DECK, deck_id, made, who="Ann", day=DAY)
    for mark in range(12, 22):
        add(library, deck_id, mark)
    library.pictures.withdraw(kept.id, "2025-04-01", who="Ann")
    return kept.id, NOTICEABLE


def test_no_byte_of_it_is_left_in_the_file(tmp_path: Path) -> None:
    place = tmp_path / "one.library"
    log = tmp_path / "one.library-wal"

    def found() -> int:
        there = place.read_bytes() + (log.read_bytes() if log.exists() else b"")
        return there.count(NOTICEABLE[:9])

    with Library.open(place) as library:
        deck_id = library.keep_deck(deck()).id
        one, _ = noticeable(library, deck_id)
        assert found() > 3000
        assert library.erase_picture(one)
        assert found() == 0, "while the program goes on"
        assert len(library.pictures.of("deck", deck_id)) == 20
        assert library.faults() == []
    assert found() == 0


def test_backups_lose_it_as_well_when_they_are_asked_to_even_from_before_it_was_withdrawn(
    tmp_path: Path,
) -> None:
    with Library.open(tmp_path / "one.library") as library:
        deck_id = library.keep_deck(deck()).id
        one, piece = noticeable(library, deck_id)
        library.pictures.withdraw(one, "", who="Ann")
        backups = library.address.backups
        assert backups is not None
        backup = backups.make().path
        library.pictures.withdraw(one, "2025-04-01", who="Ann")
        library.erase_picture(one)
        assert piece in backup.read_bytes(), "not unless asked"
        assert library.erase_picture_in_backups(one) == ()
        assert piece not in backup.read_bytes()
        with Library.open(backup, read_only=True) as copy:
            assert copy.faults() == []
            assert copy.pictures.records.get(one).thing.erased
            assert copy.pictures.count_of("deck", deck_id) == 20


def test_no_backup_is_kept_for_what_was_erased(tmp_path: Path) -> None:
    from core.store.sqlite.backups import _ids_in

    with Library.open(tmp_path / "one.library") as library:
        deck_id = library.keep_deck(deck()).id
        one, _ = noticeable(library, deck_id)
        backups = library.address.backups
        assert backups is not None
        before = backups.make().path
        library.erase_picture(one)
        after = backups.make().path
        older, newer = _ids_in(before), _ids_in(after)
        assert older is not None
        assert newer is not None
        assert older <= newer


def test_a_rescue_loses_nothing_where_something_was_erased(tmp_path: Path) -> None:
    place, target = tmp_path / "one.library", tmp_path / "rescued.library"
    with Library.open(place) as library:
        deck_id = library.keep_deck(deck()).id
        one, _ = noticeable(library, deck_id)
        library.erase_picture(one)
        history = library.pictures.records.history(one)
    told = rescue(address_of(place), address_of(target), keep_strays=lambda _strays: None)  # type: ignore[arg-type, return-value]  # there are none
    assert [Numbers().text(line) for line in told.lines()] == []
    with Library.open(target) as other:
        assert other.pictures.records.history(one) == history
        assert other.pictures.count_of("deck", deck_id) == 20
