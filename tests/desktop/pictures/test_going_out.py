"""Pictures in documents that leave the house, asked about; foreign words under them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from core.language import Numbers
from core.records import PictureOf
from core.store import Library
from core.store.jpeg import Content
from desktop.library.import_export import ImportExport
from desktop.shell.main_window import MainWindow
from desktop.widgets.local_time import today
from tests.desktop.kit import RecordingMessages
from tests.desktop.test_foreign_words import WORDS, assert_fits
from tests.examples import deck
from tests.jpegs import jpeg


@pytest.fixture
def deck_id(library: Library) -> str:
    kept = library.keep_deck(deck()).id
    for mark in (1, 2):
        content = Content.of(jpeg(640, 480, mark), jpeg(64, 48, mark))
        library.pictures.add(PictureOf.DECK, kept, content, who="Ann", day=today())
    return kept


@pytest.fixture
def carrier(library: Library, messages: RecordingMessages) -> ImportExport:
    return ImportExport(library, Numbers(decimal=","), messages)


@pytest.mark.parametrize(("answer", "count"), [(0, 2), (1, 0), (None, None)])
def test_an_export_asks_whether_pictures_go_along(
    carrier: ImportExport,
    messages: RecordingMessages,
    deck_id: str,
    tmp_path: Path,
    answer: int | None,
    count: int | None,
) -> None:
    path = tmp_path / "deck.json"
    messages.files, messages.answers = [path], [answer]
    carrier.export_records("deck", [deck_id])
    (asked,) = messages.asked
    assert "What you export has pictures: 2, 0,0\xa0MB. Export them too?" in asked.sentence
    assert asked.choices[0] == "Export with pictures"
    if count is None:
        assert not path.exists()
        assert messages.told[-1].title == "Not exported"
    else:
        assert len(json.loads(path.read_bytes()).get("pictures", [])) == count


def test_where_pictures_make_a_document_too_large_they_stay_out_and_that_is_said(
    carrier: ImportExport,
    messages: RecordingMessages,
    deck_id: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("core.store.exporting.LARGEST_BYTES", 1000)
    path = tmp_path / "deck.json"
    messages.files, messages.answers = [path], [0]
    carrier.export_records("deck", [deck_id])
    (asked,) = messages.asked
    assert "so they are left out" in asked.sentence
    assert asked.choices == ("Export without pictures",)
    assert "pictures" not in json.loads(path.read_bytes())


@pytest.mark.parametrize("kind", WORDS)
def test_foreign_words_under_pictures_are_plain_and_push_no_page_wide(
    window: MainWindow, library: Library, kind: str
) -> None:
    words = WORDS[kind]
    kept = library.keep_deck(deck(name=words[:120])).id
    content = Content.of(jpeg(640, 480), jpeg(64, 48))
    library.pictures.add(
        PictureOf.DECK, kept, content, who=words[:60], day=today(), caption=words[:200]
    )
    window.open_library(library.address.path)  # type: ignore[attr-defined]  # it is a file
    window.resize(900, 600)
    page = window.show_pictures("deck", kept)
    assert page is not None
    assert_fits(window)
    page.look()
    assert_fits(window)
    page.withdraw()
    assert_fits(window)
