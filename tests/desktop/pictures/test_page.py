"""Pictures added, looked at, withdrawn and saved, by hand and keyboard, in the real window."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QByteArray, QMimeData, Qt, QUrl
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel

from core.language import Numbers
from core.records import Job, PictureOf
from core.store import Library
from core.store.jpeg import Content
from core.store.pictures import MOST_OF_ONE
from desktop.library.editor import RecordEditor
from desktop.library.job_page import JobPage
from desktop.library.screen import LibraryScreen
from desktop.pictures.page import PicturesPage
from desktop.shell.main_window import MainWindow
from desktop.widgets.local_time import today
from desktop.wizard import Wizard
from tests.desktop.kit import CTRL, Key, RecordingMessages, drop, press, settle, tab_to, write
from tests.desktop.pictures.test_reading import encoded, image
from tests.examples import cartridge, deck
from tests.jpegs import jpeg


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "own.library"


@pytest.fixture
def deck_id(window: MainWindow, place: Path) -> str:
    window.open_library(place)
    assert window.library is not None
    assert QTest.qWaitForWindowActive(window)
    return window.library.keep_deck(deck(name="Deck with pictures")).id


@pytest.fixture
def page(window: MainWindow, deck_id: str) -> PicturesPage:
    window.show_editor("deck", deck_id)
    press(Key.Key_I, CTRL)
    return pictures(window)


@pytest.fixture
def files(tmp_path: Path) -> list[Path]:
    made = []
    for number, colour in enumerate(("red", "green", "blue")):
        picture = QImage(90 + number, 60, QImage.Format.Format_RGB32)
        picture.fill(colour)
        made.append(tmp_path / f"{colour}.png")
        assert picture.save(str(made[-1]))
    return made


@pytest.fixture
def clipboard() -> Iterator[None]:
    yield
    QGuiApplication.clipboard().clear()


def pictures(window: MainWindow) -> PicturesPage:
    found = window.pages.currentWidget()
    assert isinstance(found, PicturesPage)
    return found


def wait(page: PicturesPage) -> None:
    for _ in range(2000):
        if not page.taker.is_at_work:
            break
        QTest.qWait(5)
    assert not page.taker.is_at_work
    settle()


def take(page: PicturesPage, *paths: Path) -> None:
    page.take(list(paths))
    wait(page)


def captions(page: PicturesPage) -> list[str]:
    return [page.sheet.item(at).text() for at in range(page.sheet.count())]


# added


def test_a_picture_is_added_from_a_file_with_a_caption_by_keyboard_alone(
    page: PicturesPage, files: list[Path], messages: RecordingMessages, window: MainWindow
) -> None:
    assert page.none.isVisible()
    messages.files = [files[0]]
    press(Key.Key_Insert)
    wait(page)
    assert QApplication.focusWidget() is page.caption
    write("Belt path <b>from above</b>")
    press(Key.Key_Return)
    assert captions(page) == ["Belt path <b>from above</b>"]
    assert window.library is not None
    (kept,) = window.library.pictures.of("deck", page.owner[1])
    assert kept.thing.caption == "Belt path <b>from above</b>"
    assert kept.thing.day == today().isoformat()
    assert messages.told == []


def test_what_was_copied_is_pasted_even_while_the_caption_has_the_focus(
    page: PicturesPage, files: list[Path], messages: RecordingMessages, clipboard: None
) -> None:
    take(page, files[0])
    assert QApplication.focusWidget() is page.caption
    for given in ("image", "bytes", "file"):
        data = QMimeData()
        if given == "image":
            data.setImageData(image(70, 50))
        elif given == "bytes":
            data.setData("image/png", QByteArray(encoded(image(80, 50), "png")))
        else:
            data.setUrls([QUrl.fromLocalFile(str(files[1]))])
        QGuiApplication.clipboard().setMimeData(data)
        before = page.sheet.count()
        page.paste_button.setFocus()
        press(Key.Key_V, CTRL)
        wait(page)
        assert page.sheet.count() == before + 1, given
    QGuiApplication.clipboard().setText("only words")
    page.caption.setFocus()
    press(Key.Key_V, CTRL)
    assert page.caption.text() == "only words"
    page.paste()
    assert "What you copied is not a picture" in messages.sentences[-1]


def test_dropped_on_a_form_they_belong_to_what_it_is_about_and_the_form_stays_as_it_was(
    window: MainWindow, deck_id: str, files: list[Path]
) -> None:
    window.show_editor("deck", deck_id)
    editor = window.pages.currentWidget()
    assert isinstance(editor, RecordEditor)
    editor.suggest_name("Typed and not saved")
    drop(window, *files)
    page = pictures(window)
    wait(page)
    assert page.owner == ("deck", deck_id)
    assert page.sheet.count() == 3
    page.sheet.setFocus()
    press(Key.Key_Escape)
    assert window.pages.currentWidget() is editor
    assert editor.has_changes
    assert editor.pictures.text() == "3 pictures…"
    editor.form.put(None)


@pytest.mark.parametrize("answer", [0, 1])
def test_dropped_on_a_list_they_are_asked_about_and_only_where_one_is_picked(
    answer: int,
    window: MainWindow,
    deck_id: str,
    files: list[Path],
    messages: RecordingMessages,
) -> None:
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    screen.show_deck(deck_id)
    messages.answers = [answer]
    drop(window, *files[:2])
    assert "Keep 2 pictures with Deck with pictures, which is picked?" in messages.asked[0].sentence
    if answer == 0:
        wait(pictures(window))
    assert window.library is not None
    assert window.library.pictures.count_of("deck", deck_id) == (2 if answer == 0 else 0)
    window.show_library()
    screen.decks.pick_none()
    drop(window, *files)
    assert "belong to a deck, a cartridge, a job or a fitting" in messages.sentences[-1]
    assert window.pages.currentWidget() is screen


def test_a_document_dropped_with_pictures_is_told_apart(
    window: MainWindow, deck_id: str, files: list[Path], messages: RecordingMessages, tmp_path: Path
) -> None:
    page = window.show_pictures("deck", deck_id)
    assert page is not None
    (tmp_path / "notes.txt").write_text("x")
    drop(window, tmp_path / "notes.txt", *files)
    wait(page)
    assert page.sheet.count() == 3
    assert "neither a document nor a library" in messages.sentences[0]


def test_what_is_no_picture_is_told_once_and_the_others_are_added(
    page: PicturesPage, files: list[Path], messages: RecordingMessages, tmp_path: Path
) -> None:
    (tmp_path / "svg.jpg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    (tmp_path / "text.png").write_text("Dear sir")
    take(page, tmp_path / "svg.jpg", *files, tmp_path / "text.png", tmp_path / "gone.jpg")
    assert page.sheet.count() == 3
    (told,) = messages.told
    assert "“svg.jpg” can't be read as a picture" in told.sentence
    assert "“text.png” can't be read as a picture" in told.sentence
    assert "“gone.jpg” is not a file" in told.sentence


def test_the_same_picture_is_not_added_twice_and_that_is_said(
    page: PicturesPage, files: list[Path], messages: RecordingMessages
) -> None:
    take(page, files[0], files[0])
    take(page, files[0])
    assert page.sheet.count() == 1
    assert [told.sentence for told in messages.told] == ["The picture is here already."] * 2


def test_the_forty_first_is_refused_in_a_sentence(
    page: PicturesPage, files: list[Path], messages: RecordingMessages, window: MainWindow
) -> None:
    assert window.library is not None
    for mark in range(1, MOST_OF_ONE):
        content = Content.of(jpeg(64, 48, mark), jpeg(64, 48, mark))
        window.library.pictures.add(PictureOf.DECK, page.owner[1], content, who="Ann", day=today())
    take(page, *files)
    assert page.sheet.count() == MOST_OF_ONE
    assert "keeps 40 pictures at most" in messages.sentences[0]


def test_reading_is_stopped_by_its_button_and_nothing_comes(
    page: PicturesPage, files: list[Path], tmp_path: Path
) -> None:
    large = tmp_path / "large.png"
    assert image(5000, 4000).save(str(large))
    page.take([large, *files])
    assert page.undo_bar.progress.isVisible()
    assert page.undo_bar.text == "Reading pictures…"
    page.undo_bar.stop_button.click()
    wait(page)
    assert page.undo_bar.text == "Stopped. Nothing was added."
    assert page.sheet.count() == 0


def test_leaving_while_one_is_read_is_asked_about(
    page: PicturesPage, messages: RecordingMessages, tmp_path: Path, window: MainWindow
) -> None:
    large = tmp_path / "large.png"
    assert image(5000, 4000).save(str(large))
    messages.answers = [0, 1]
    page.take([large])
    page.leave()
    assert pictures(window) is page
    if page.taker.is_at_work:
        page.leave()
        assert not page.taker.is_at_work
    messages.answers = []


def test_a_page_that_ends_with_its_library_asks_it_for_nothing_more(
    page: PicturesPage, tmp_path: Path
) -> None:
    """Another library was opened meanwhile; what was read then asked the one that was closed."""
    large = tmp_path / "large.png"
    assert image(5000, 4000).save(str(large))
    page.take([large])
    assert page.taker.is_at_work
    page.end()
    assert not page.taker.is_at_work
    settle()
    assert page.sheet.count() == 0


def test_a_disk_that_is_full_loses_nothing_and_says_so(
    page: PicturesPage, files: list[Path], messages: RecordingMessages, window: MainWindow
) -> None:
    take(page, files[0])
    assert window.library is not None
    ((pages,),) = window.library._backend.rows("PRAGMA page_count")
    window.library._backend.run(f"PRAGMA max_page_count={pages}")
    noise = [files[1].with_name(f"noise{number}.jpg") for number in range(3)]
    for number, path in enumerate(noise):
        path.write_bytes(encoded(image(1500, 1200 + number)))
    take(page, *noise)
    assert page.sheet.count() == 1
    assert "full" in messages.told[-1].sentence
    window.library._backend.run("PRAGMA max_page_count=100000")
    take(page, *noise)
    assert page.sheet.count() == 4
    assert window.library.faults() == []


def test_a_library_opened_to_look_only_shows_them_and_takes_none(
    window: MainWindow, deck_id: str, place: Path, files: list[Path], messages: RecordingMessages
) -> None:
    page = window.show_pictures("deck", deck_id)
    assert page is not None
    take(page, files[0])
    page.leave()
    assert window.library is not None
    with Library.open(place, read_only=True) as shut:
        looking = PicturesPage(shut, ("deck", deck_id), Numbers(), messages)
        looking.show()
        assert looking.sheet.count() == 1
        looking.take([files[1]])
        assert "opened to look only" in messages.sentences[-1]
        assert not looking.add_button.isEnabled()
        assert not looking.withdraw_button.isEnabled()
        assert looking.caption.isReadOnly()
        looking.look()
        assert looking.view.accessibleName().startswith("Picture 1 of 1")
        looking.close()
        looking.deleteLater()


# looked at


@pytest.fixture
def three(page: PicturesPage, files: list[Path]) -> PicturesPage:
    take(page, *files)
    for at, words in enumerate(("one", "two", "three")):
        page.sheet.setCurrentRow(at)
        page.caption.setText(words)
        page.caption.editingFinished.emit()
    assert captions(page) == ["one", "two", "three"]
    page.sheet.setCurrentRow(0)
    page.sheet.setFocus()
    return page


def test_one_is_looked_at_large_and_left_again_by_keys(three: PicturesPage) -> None:
    press(Key.Key_Return)
    assert QApplication.focusWidget() is three.view
    said = []
    for key in (
        None,
        Key.Key_Right,
        Key.Key_PageDown,
        Key.Key_PageDown,
        Key.Key_Left,
        Key.Key_PageUp,
    ):
        if key is not None:
            press(key)
        said.append(three.view.accessibleName())
    numbers = [words.split(":")[0].removeprefix("Picture ") for words in said]
    assert numbers == ["1 of 3", "2 of 3", "3 of 3", "3 of 3", "2 of 3", "1 of 3"]
    assert three.view.fits
    press(Key.Key_Plus)
    assert not three.view.fits
    nearer = three.view.zoom
    press(Key.Key_Plus)
    assert three.view.zoom > nearer
    for _ in range(40):
        press(Key.Key_Plus)
    assert three.view.zoom == pytest.approx(4.0)
    press(Key.Key_1)
    assert three.view.zoom == pytest.approx(1.0)
    press(Key.Key_0)
    assert three.view.fits
    press(Key.Key_Escape)
    assert QApplication.focusWidget() is three.sheet
    press(Key.Key_Escape)
    assert isinstance(three.window(), MainWindow)
    assert isinstance(three.window().pages.currentWidget(), RecordEditor)


def test_arrows_move_a_picture_that_is_larger_than_the_window(
    page: PicturesPage, tmp_path: Path
) -> None:
    path = tmp_path / "wide.png"
    assert image(1600, 1200).save(str(path))
    take(page, path)
    page.look()
    for _ in range(4):
        press(Key.Key_Plus)
    across, down = page.view.horizontalScrollBar(), page.view.verticalScrollBar()
    assert across.maximum() > 0
    middle = (across.value() + across.pageStep() / 2) / (across.maximum() + across.pageStep())
    assert middle == pytest.approx(0.5, abs=0.02), "what was in the middle stays there"
    before = across.value(), down.value()
    press(Key.Key_Right)
    press(Key.Key_Down)
    assert across.value() > before[0]
    assert down.value() > before[1]


def test_a_copy_is_saved_and_never_over_a_library(
    three: PicturesPage, messages: RecordingMessages, tmp_path: Path, place: Path
) -> None:
    messages.files = [tmp_path / "copy", None, place]
    three.save_copy()
    kept = QImage(str(tmp_path / "copy.jpg"))
    assert (kept.width(), kept.height()) == (90, 60)
    assert str(tmp_path / "copy.jpg") in three.undo_bar.text
    three.save_copy()
    before = place.read_bytes()
    three.save_copy()
    assert "has the name of a library" in messages.sentences[-1]
    assert place.read_bytes() == before
    assert messages.file_questions[0][1].name == "one.jpg"


# withdrawn


def test_one_is_withdrawn_and_brought_back_by_keys(three: PicturesPage) -> None:
    press(Key.Key_Delete)
    assert captions(three) == ["two", "three"]
    press(Key.Key_Z, CTRL)
    assert captions(three) == ["one", "two", "three"]
    press(Key.Key_Home)
    press(Key.Key_Delete)
    three.withdrawn_too.click()
    three.sheet.setFocus()
    three.sheet.setCurrentRow(0)
    assert captions(three)[0] == "one (withdrawn)"
    assert three.withdraw_button.text() == "Bring back"
    press(Key.Key_Delete)
    assert captions(three) == ["one", "two", "three"]


def test_pictures_that_were_added_are_withdrawn_by_undo(
    page: PicturesPage, files: list[Path]
) -> None:
    take(page, *files)
    assert page.undo_bar.text == "Added 3 pictures."
    page.sheet.setFocus()
    press(Key.Key_Z, CTRL)
    assert page.sheet.count() == 0
    take(page, files[0])
    assert page.sheet.count() == 1, "added again it counts again"


# another window


def test_what_another_window_withdraws_while_it_is_looked_at_is_told(
    three: PicturesPage, place: Path, window: MainWindow
) -> None:
    three.look()
    with Library.open(place) as other:
        (mine, *_rest) = other.pictures.of("deck", three.owner[1])
        other.pictures.withdraw(mine.id, "2026-01-01", who="Ben")
    assert window._housekeeping is not None
    window._housekeeping.look()
    settle()
    assert three.sheet.count() == 2
    assert three.view.accessibleName() == "Picture 1 of 2: two"
    assert "has withdrawn the picture you were looking at: one" in words_shown(window)


def test_what_another_window_adds_is_shown_and_what_is_typed_stays(
    three: PicturesPage, place: Path, window: MainWindow, messages: RecordingMessages
) -> None:
    three.sheet.setCurrentRow(1)
    three.caption.setFocus()
    three.caption.setText("two, half typed")
    with Library.open(place) as other:
        kept = other.pictures.of("deck", three.owner[1])
        content = Content.of(jpeg(), jpeg())
        other.pictures.add(PictureOf.DECK, three.owner[1], content, who="Ben", day=today())
        other.pictures.say(kept[1].id, "two, by Ben", who="Ben")
    three.look_again()
    assert three.sheet.count() == 4
    assert three.caption.text() == "two, half typed"
    press(Key.Key_Return)
    assert "was changed in another window" in messages.sentences[-1]
    assert captions(three)[1] == "two, by Ben"


def words_shown(window: MainWindow) -> str:
    return " ".join(one.text() for one in window.findChildren(QLabel) if one.isVisible())


# of what


def test_every_way_to_the_pictures_of_a_thing(window: MainWindow, deck_id: str) -> None:
    library = window.library
    assert library is not None
    stylus, job = library.keep_cartridge(cartridge()).id, library.keep_job(Job()).id
    fitting = library.start_fitting(deck_id, stylus, job_id=job).id
    shown: list[tuple[Callable[[], object], tuple[str, str], type]] = [
        (lambda: window.show_editor("deck", deck_id), ("deck", deck_id), RecordEditor),
        (lambda: window.show_editor("cartridge", stylus), ("cartridge", stylus), RecordEditor),
        (lambda: window.show_job(job), ("job", job), JobPage),
        (lambda: window.open_fitting(fitting), ("fitting", fitting), Wizard),
    ]
    for show, owner, kind in shown:
        show()
        press(Key.Key_I, CTRL)
        page = pictures(window)
        assert page.owner == owner
        page.leave()
        assert isinstance(window.pages.currentWidget(), kind)
    window.show_history(deck_id)
    history = window.pages.currentWidget()
    history.service.pictures_button.click()  # type: ignore[union-attr]  # the history's page
    assert pictures(window).owner == ("deck", deck_id)
    window.show_library()
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    screen.show_deck(deck_id)
    press(Key.Key_I, CTRL)
    assert pictures(window).owner == ("deck", deck_id)


def test_the_form_of_a_new_deck_and_a_headshell_have_no_pictures(
    window: MainWindow, deck_id: str, messages: RecordingMessages
) -> None:
    for kind in ("deck", "headshell"):
        window.show_editor(kind)
        page = window.pages.currentWidget()
        assert isinstance(page, RecordEditor)
        assert not page.pictures.isVisible()
        press(Key.Key_I, CTRL)
        assert window.pages.currentWidget() is page
        assert "belong to a deck" in messages.told[-1].sentence


def test_help_lies_over_pictures_that_lie_over_a_form(
    page: PicturesPage, window: MainWindow
) -> None:
    page.begin()
    press(Key.Key_F1)
    assert window.pages.currentWidget() is not page
    press(Key.Key_Escape)
    assert window.pages.currentWidget() is page
    page.leave()
    assert isinstance(window.pages.currentWidget(), RecordEditor)


@pytest.mark.parametrize("width", [640, 900])
def test_every_button_is_in_sight_in_a_small_window(
    three: PicturesPage, window: MainWindow, width: int
) -> None:
    window.resize(width, 600)
    settle()
    for _ in range(2):
        shown = [one for one in three.buttons.widgets if one.isVisible()]
        assert shown
        for one in shown:
            assert three.buttons.rect().contains(one.geometry()), one
            assert one.width() >= one.sizeHint().width()
        places = [one.geometry() for one in shown]
        assert not any(a.intersects(b) for at, a in enumerate(places) for b in places[at + 1 :])
        three.look()
        settle()


def test_everything_is_reached_by_tab(three: PicturesPage) -> None:
    for one in (three.caption, three.add_button, three.withdrawn_too, three.back_button):
        tab_to(one)


def test_names_are_told_to_a_screen_reader(three: PicturesPage) -> None:
    assert three.accessibleName() == "Pictures of Deck with pictures"
    role = Qt.ItemDataRole.AccessibleTextRole
    day = today().isoformat()
    assert three.sheet.item(0).data(role) == f"one. Added {day}."


def test_a_picture_that_can_not_be_read_is_said_and_the_others_are_seen(
    three: PicturesPage, window: MainWindow
) -> None:
    assert window.library is not None
    content = three.current
    assert content is not None
    with window.library.transaction():
        harm = {"image": b"\xff\xd8 harmed", "small": b"harmed"}
        window.library._backend.update("picture_contents", harm, {"hash": content.thing.content})
    three.look_again()
    three.look()
    assert "this picture can't be read" in three.view.accessibleName()
    three.go(1)
    assert three.view.accessibleName() == "Picture 2 of 3: two"


# erased


def withdrawn(page: PicturesPage, at: int) -> str:
    """Withdraw a picture, pick it among the withdrawn ones, and return its number."""
    page.sheet.setCurrentRow(at)
    kept = page.current
    assert kept is not None
    page.withdraw()
    page.withdrawn_too.setChecked(True)
    page.sheet.setCurrentRow(at)
    assert page.current is not None
    assert page.current.id == kept.id
    return kept.id


def test_one_is_erased_only_once_it_is_withdrawn_and_after_a_question(
    three: PicturesPage, window: MainWindow, messages: RecordingMessages
) -> None:
    assert window.library is not None
    assert not three.erase_button.isVisible(), "it counts"
    one = withdrawn(three, 1)
    assert three.erase_button.isVisible()
    for answer in (None, 2):
        messages.answers = [answer]
        three.erase_button.click()
        assert not window.library.pictures.records.get(one).thing.erased
    assert "Restoring one brings it back" in messages.asked[-1].sentence
    assert "exported with pictures" in messages.asked[-1].sentence
    messages.answers = [0]
    three.erase_button.click()
    kept = window.library.pictures.records.get(one).thing
    assert kept.erased == today().isoformat()
    assert window.library.pictures.image(kept.content) is None
    assert captions(three)[1].endswith("(erased)")
    assert not three.erase_button.isVisible()
    assert not three.withdraw_button.isVisible()
    three.look()
    assert "was erased on" in three.view.accessibleName()
    assert messages.told == []


def test_backups_are_erased_in_as_well_and_what_stays_elsewhere_is_said(
    three: PicturesPage, window: MainWindow, messages: RecordingMessages, files: list[Path]
) -> None:
    library = window.library
    assert library is not None
    other = library.keep_deck(deck(name="Another deck with pictures")).id
    one = withdrawn(three, 0)
    backups = library.address.backups
    assert backups is not None
    backup = backups.make().path
    content = library.pictures.content(library.pictures.records.get(one).thing.content)
    assert content is not None
    library.pictures.add(PictureOf.DECK, other, content, who="", day=today())
    messages.answers = [1]
    three.erase()
    with Library.open(backup, read_only=True) as copy:
        assert copy.pictures.records.get(one).thing.erased
        assert copy.pictures.image(content.hash) is None
    assert "also added to something else" in messages.sentences[-1]
    assert library.pictures.image(content.hash) is not None


def test_nothing_is_erased_in_a_library_that_was_opened_to_look_only(
    three: PicturesPage, window: MainWindow, messages: RecordingMessages
) -> None:
    withdrawn(three, 0)
    assert window.library is not None
    address = window.library.address
    with Library.open(address, read_only=True) as shut:
        page = PicturesPage(shut, three.owner, Numbers(), messages)
        page.withdrawn_too.setChecked(True)
        assert not page.erase_button.isEnabled()
        page.erase()
        page.deleteLater()
    assert messages.asked == []


def test_undoing_a_withdrawal_shows_the_large_picture_that_was_withdrawn(
    three: PicturesPage,
) -> None:
    three.sheet.setCurrentRow(1)
    three.look()
    one = three.current
    assert one is not None
    three.withdraw()
    assert three.current != one
    press(Key.Key_Z, CTRL)
    assert three.current is not None
    assert three.current.id == one.id
    assert three.view.accessibleName().startswith("Picture 2 of 3")


# told, and found again


def test_all_that_was_not_added_is_told_together(
    page: PicturesPage, files: list[Path], messages: RecordingMessages, tmp_path: Path
) -> None:
    take(page, files[0])
    letter, half = tmp_path / "letter.jpg", tmp_path / "half.jpg"
    letter.write_bytes(b"Dear customer,")
    half.write_bytes(files[1].read_bytes()[:-40])
    take(page, files[0], letter, half)
    (told,) = messages.told
    for words in (
        "here already",
        "“letter.jpg” can't be read",
        "“half.jpg” ends too early",
    ):
        assert words in told.sentence


def test_the_next_picture_is_looked_for_where_the_last_was_found(
    page: PicturesPage,
    files: list[Path],
    messages: RecordingMessages,
    window: MainWindow,
    tmp_path: Path,
) -> None:
    assert window.library is not None
    camera = tmp_path / "camera"
    camera.mkdir()
    taken = files[0].rename(camera / "one.png")
    messages.files = [taken, None, None]
    page.add()
    wait(page)
    page.add()
    taken.unlink()
    camera.rmdir()
    page.add()
    starts = [start for _, start, _ in messages.file_questions]
    assert starts == [starts[0], camera, starts[0]]
    assert starts[0] != window.library.address.folder, "that is hidden in most places"
