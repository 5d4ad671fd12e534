"""Pictures: kept once, withdrawn, the way to another bench and back, and out of a damaged file."""

from __future__ import annotations

import base64
import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from core.language import Message, Numbers, message
from core.records import Job, PictureOf
from core.store import Library, LibraryAddress, LibraryProblem, ProblemKind
from core.store.addresses import address_of
from core.store.documents import Document, DocumentProblem, document_from
from core.store.exporting import (
    Selection,
    may_be_too_large,
    of_decks,
    of_fittings,
    of_library,
    with_pictures,
)
from core.store.importing import ImportDecision, MatchKind, plan, take_in
from core.store.jpeg import Content
from core.store.pictures import MOST_OF_ONE
from core.store.rescue import rescue
from core.store.taking_back import take_back
from tests.core.store.worked import content_of
from tests.examples import cartridge, deck
from tests.jpegs import EXIF, jpeg

DAY = date(2025, 3, 1)


def content(mark: int = 1, extra: bytes = b"") -> Content:
    return Content.of(jpeg(640, 480, mark, extra), jpeg(64, 48, mark))


def add(library: Library, thing: str, mark: int = 1, **said: Any) -> str:
    said = {"of": PictureOf.DECK, "who": "Ann", "day": DAY} | said
    return library.pictures.add(thing_id=thing, content=content(mark), **said).id


@pytest.fixture
def deck_id(library: Library) -> str:
    return library.keep_deck(deck()).id


def document_of(library: Library, selection: Selection) -> Document:
    return document_from(content_of(library, selection), "one.json")


def said(library: Library, thing: str, sort: str = "deck") -> list[tuple[str, str, bool]]:
    found = library.pictures.of(sort, thing, withdrawn=True)
    return sorted((one.thing.caption, one.who, bool(one.thing.withdrawn)) for one in found)


def shown(library: Library, thing: str, sort: str = "deck") -> list[bytes | None]:
    return [library.pictures.image(one.thing.content) for one in library.pictures.of(sort, thing)]


def test_a_picture_is_there_again_as_it_was_kept(library: Library, deck_id: str) -> None:
    one = add(library, deck_id, caption="Belt path")
    (kept,) = library.pictures.of("deck", deck_id)
    assert (kept.id, kept.thing.caption, kept.thing.day, kept.who) == (
        one,
        "Belt path",
        "2025-03-01",
        "Ann",
    )
    assert library.pictures.image(kept.thing.content) == jpeg(640, 480)
    assert library.pictures.small(kept.thing.content) == jpeg(64, 48)
    assert library.pictures.count_of("deck", deck_id) == 1


def test_pictures_come_in_the_order_in_which_they_were_added(
    library: Library, deck_id: str
) -> None:
    for mark, caption in enumerate(("one", "two", "three", "four", "five"), 1):
        add(library, deck_id, mark, caption=caption)
    add(library, deck_id, 9, caption="earlier", day=date(2025, 2, 28))
    first = library.pictures.of("deck", deck_id)[1]
    library.pictures.say(first.id, "one, said later", who="Ben")
    captions = [one.thing.caption for one in library.pictures.of("deck", deck_id)]
    assert captions == ["earlier", "one, said later", "two", "three", "four", "five"]


def test_the_same_picture_is_kept_once_for_a_thing_and_its_bytes_once_for_all(
    library: Library, deck_id: str
) -> None:
    other = library.keep_deck(deck(name="Other")).id
    one = add(library, deck_id)
    assert add(library, deck_id, caption="again") == one
    assert add(library, other) != one
    assert library.pictures.count_of("deck", deck_id) == 1
    assert len(library._backend.select("picture_contents", ("hash",))) == 1


def test_a_picture_is_withdrawn_and_counts_again_and_nothing_is_deleted(
    library: Library, deck_id: str
) -> None:
    one = add(library, deck_id)
    library.pictures.withdraw(one, "2025-04-01", who="Ben")
    assert library.pictures.of("deck", deck_id) == ()
    assert [kept.id for kept in library.pictures.of("deck", deck_id, withdrawn=True)] == [one]
    library.pictures.withdraw(one, "", who="Ann")
    assert len(library.pictures.of("deck", deck_id)) == 1
    days = [kept.thing.withdrawn for kept in library.pictures.records.history(one)]
    assert days == ["", "2025-04-01", ""]
    library.pictures.withdraw(one, "2025-04-01", who="Ben")
    assert add(library, deck_id) == one, "added once more it counts again"
    assert library.pictures.count_of("deck", deck_id) == 1


def test_words_under_a_picture_are_a_revision_and_pass_nobody_over(
    library: Library, deck_id: str
) -> None:
    one = add(library, deck_id)
    library.pictures.say(one, "Belt <b>path</b>", who="Ann", based_on=1)
    assert library.pictures.records.get(one).thing.caption == "Belt <b>path</b>"
    with pytest.raises(LibraryProblem) as caught:
        library.pictures.say(one, "mine", who="Ben", based_on=1)
    assert caught.value.kind is ProblemKind.CHANGED_ELSEWHERE


def test_a_thing_has_so_many_pictures_and_no_more(library: Library, deck_id: str) -> None:
    ids = [add(library, deck_id, mark) for mark in range(1, MOST_OF_ONE + 1)]
    with pytest.raises(LibraryProblem, match="keeps 40 pictures at most"):
        add(library, deck_id, 99)
    library.pictures.withdraw(ids[0], "2025-04-01", who="Ann")
    add(library, deck_id, 99)
    for act in (
        lambda: library.pictures.withdraw(ids[0], "", who="Ann"),
        lambda: add(library, deck_id, 1),
    ):
        with pytest.raises(LibraryProblem, match="keeps 40 pictures at most"):
            act()
    assert library.pictures.count_of("deck", deck_id) == MOST_OF_ONE


def test_a_picture_needs_something_it_was_taken_of(library: Library) -> None:
    for of in PictureOf:
        with pytest.raises(LibraryProblem) as caught:
            add(library, "nowhere", of=of)
        assert caught.value.kind is ProblemKind.NO_SUCH_RECORD
    assert library._backend.select("picture_contents", ("hash",)) == []


def test_an_addition_that_is_repeated_after_a_failure_is_there_once(
    library: Library, deck_id: str
) -> None:
    for _ in range(2):
        add(library, deck_id, picture_id="one")
    assert [one.id for one in library.pictures.of("deck", deck_id)] == ["one"]


def test_what_was_changed_in_the_file_is_not_shown(library: Library, deck_id: str) -> None:
    add(library, deck_id)
    with library.transaction():
        for column in ("image", "small"):
            library._backend.update("picture_contents", {column: b"\xff\xd8 other"}, {})
    digest = content().hash
    assert library.pictures.image(digest) is library.pictures.small(digest) is None
    with pytest.raises(LibraryProblem, match="Export without pictures"):
        document_of(library, with_pictures(library, of_decks(library, deck_id)))
    assert document_of(library, of_decks(library, deck_id)).pictures == ()


# documents


@pytest.fixture
def worked(library: Library, deck_id: str) -> tuple[str, str, str, str]:
    """A deck, a cartridge, a job and a fitting, each with a picture."""
    stylus, job = library.keep_cartridge(cartridge()).id, library.keep_job(Job()).id
    fitting = library.start_fitting(deck_id, stylus, job_id=job).id
    things = (deck_id, stylus, job, fitting)
    for mark, (of, thing) in enumerate(zip(PictureOf, things, strict=True), 1):
        add(library, thing, mark, of=of, caption=f"of a {of}")
    return things


def test_pictures_go_to_another_bench_if_asked_for_and_follow_when_they_are_withdrawn(
    library: Library, worked: tuple[str, ...], other_address: LibraryAddress
) -> None:
    deck_id = worked[0]
    alone = of_decks(library, deck_id)
    assert document_of(library, alone).pictures == document_of(library, alone).contents == ()
    with Library.open(other_address) as other:
        first = document_of(library, with_pictures(library, alone))
        assert len(first.pictures) == len(first.contents) == 4
        brought = take_in(other, plan(other, first), {})
        for of, thing in zip(PictureOf, worked, strict=True):
            assert said(other, thing, of) == said(library, thing, of) == [(f"of a {of}", "Ann", 0)]
            assert shown(other, thing, of) == shown(library, thing, of) != [None]
        again = plan(other, first)
        assert again.count(MatchKind.SAME) == len(again.items)
        (mine,) = library.pictures.of("deck", deck_id)
        library.pictures.withdraw(mine.id, "2025-04-01", who="Ben")
        take_in(other, plan(other, document_of(library, with_pictures(library, alone))), {})
        assert other.pictures.of("deck", deck_id) == ()
        undone = take_back(other, brought)
        assert undone.archived["picture"] == 3
        assert ("picture", mine.id) in undone.left, "it was withdrawn since"
        assert said(other, worked[3], "fitting") == []


def test_what_is_kept_as_a_second_one_has_its_pictures(
    library: Library, worked: tuple[str, ...], other_address: LibraryAddress
) -> None:
    deck_id = worked[0]
    with Library.open(other_address) as other:
        take_in(other, plan(other, document_of(library, of_decks(library, deck_id))), {})
        other.keep_deck(deck(notes="there"), id=deck_id)
        library.keep_deck(deck(notes="here"), id=deck_id)
        add(other, deck_id, 9, caption="there")
        document = document_of(other, with_pictures(other, of_decks(other, deck_id)))
        planned = plan(library, document)
        (conflict,) = planned.conflicts
        take_in(library, planned, {conflict.id: ImportDecision.BOTH})
        (second,) = (
            row.id for row in library.decks() if library.deck(row.id).thing.notes == "there"
        )
        assert said(library, second) == [("there", "Ann", False)]
        assert shown(library, second) == [jpeg(640, 480, 9)]
        assert said(library, deck_id) == [("of a deck", "Ann", False)]
        assert plan(library, document).count(MatchKind.SAME) == len(planned.items)


def test_the_same_picture_from_another_bench_is_not_kept_twice(
    library: Library, deck_id: str, other_address: LibraryAddress
) -> None:
    with Library.open(other_address) as other:
        take_in(other, plan(other, document_of(library, of_decks(library, deck_id))), {})
        add(other, deck_id, caption="theirs")
        add(library, deck_id, caption="mine")
        document = document_of(other, with_pictures(other, of_decks(other, deck_id)))
        take_in(library, plan(library, document), {})
        assert said(library, deck_id) == [("mine", "Ann", False)]


def test_a_document_that_would_be_too_large_is_seen_beforehand(
    library: Library, deck_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(library, deck_id)
    selection = with_pictures(library, of_decks(library, deck_id))
    assert not may_be_too_large(library, selection)
    length = len(content_of(library, selection))
    monkeypatch.setattr("core.store.exporting.LARGEST_BYTES", length)
    assert may_be_too_large(library, selection), "the guess must not be too low"


def changed(library: Library, worked: tuple[str, ...], **fields: Any) -> bytes:
    """A document of a fitting in which the first content or picture says something else."""
    selection = with_pictures(library, of_fittings(library, worked[3]))
    raw = json.loads(content_of(library, selection))
    for name, value in fields.items():
        where, _, field = name.partition("_")
        if not field:
            raw[where] = value
        elif where == "pictures":
            raw[where][0]["revisions"][0]["thing"][field] = value
        else:
            raw[where][0][field] = value
    return json.dumps(raw).encode()


BASE64 = base64.b64encode


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"contents": []}, "What picture 1 shows is not in the document"),
        ({"contents_image": "no base64!"}, "base64"),
        ({"contents_image": 7}, "what a picture shows, number 1"),
        ({"contents_image": BASE64(b"<svg/>").decode()}, "no picture as Setdown keeps them"),
        ({"contents_image": BASE64(jpeg(extra=EXIF)).decode()}, "no picture as Setdown keeps them"),
        ({"contents_image": BASE64(jpeg(9000, 8)).decode()}, "no picture as Setdown keeps them"),
        ({"contents_small": BASE64(jpeg(640, 480)).decode()}, "no picture as Setdown keeps them"),
        ({"contents_image": BASE64(jpeg(8, 8)).decode()}, "not the one that its number names"),
        ({"pictures_thing": "elsewhere"}, "names something that is not in the document"),
        ({"pictures_content": "0" * 64}, "is not in the document"),
        ({"pictures_content": "../../etc"}, "content"),
        ({"pictures_caption": "x" * 201}, "200"),
        ({"pictures_day": ""}, "The day is missing"),
    ],
)
def test_a_document_with_another_picture_than_it_says_is_refused_in_a_sentence(
    library: Library, worked: tuple[str, ...], fields: dict[str, Any], sentence: str
) -> None:
    with pytest.raises(DocumentProblem) as caught:
        document_from(changed(library, worked, **fields), "one.json")
    assert sentence in Numbers().text(caught.value.what)


def test_what_a_document_lacks_is_told_from_a_template(
    library: Library, worked: tuple[str, ...]
) -> None:
    """A sentence with a number in it is in no list of labels: another language needs a template."""
    with pytest.raises(DocumentProblem) as caught:
        document_from(changed(library, worked, contents=[]), "one.json")
    assert isinstance(caught.value.what, Message)
    lacking = message("storage.document.lacks.picture_content", number=1)
    assert caught.value.what.values["words"] == lacking


# damaged files


def test_a_rescue_keeps_the_pictures(place: Path, library: Library, deck_id: str) -> None:
    one = add(library, deck_id, caption="Belt path")
    add(library, deck_id, 2)
    library.pictures.withdraw(one, "2025-04-01", who="Ben")
    history = library.pictures.records.history(one)
    library.close()
    target = place.with_name("rescued.library")
    told = rescue(address_of(place), address_of(target), keep_strays=lambda _strays: None)  # type: ignore[arg-type, return-value]  # there are none
    assert [Numbers().text(line) for line in told.lines()] == []
    with Library.open(target) as other:
        assert other.pictures.records.history(one) == history
        assert shown(other, deck_id) == [jpeg(640, 480, 2)]
        assert other.pictures.image(content(1).hash) == jpeg(640, 480, 1)


def test_a_rescue_says_which_pictures_are_lost(place: Path, library: Library, deck_id: str) -> None:
    add(library, deck_id, caption="whole")
    add(library, deck_id, 2, caption="harmed")
    with library.transaction():
        harm = {"image": jpeg(640, 480, 3)}
        library._backend.update("picture_contents", harm, {"hash": content(2).hash})
    library.close()
    target = place.with_name("rescued.library")
    told = rescue(address_of(place), address_of(target), keep_strays=lambda _strays: None)  # type: ignore[arg-type, return-value]  # there are none
    (line,) = (Numbers().text(line) for line in told.lines())
    assert line == "One picture itself could not be read; its caption and day are kept."
    with Library.open(target) as other:
        captions = [one.thing.caption for one in other.pictures.of("deck", deck_id)]
        assert captions == ["whole", "harmed"]
        assert list(map(bool, shown(other, deck_id))) == [True, False]


def test_the_whole_library_leaves_pictures_out_unless_asked(
    library: Library, worked: tuple[str, ...]
) -> None:
    assert document_of(library, of_library(library)).pictures == ()
    assert len(document_of(library, with_pictures(library, of_library(library))).pictures) == 4
