from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.records import Customer, Job, Service, ServicePart
from core.store import Library
from core.store.differences import Side
from core.store.exporting import of_library, with_customers, write_document
from desktop.library.export_progress import ExportProgress
from desktop.library.import_export import ImportExport
from desktop.library.screen import LibraryScreen
from desktop.library.versions_dialog import VersionsDialog
from desktop.shell.main_window import MainWindow
from desktop.widgets.preferences import Preferences
from tests.desktop.kit import RecordingMessages, words_of
from tests.visits import keep


@pytest.fixture
def carrier(library: Library, messages: RecordingMessages) -> ImportExport:
    return ImportExport(library, Numbers(decimal=","), messages)


@pytest.fixture
def other(tmp_path: Path) -> Library:
    (tmp_path / "other").mkdir()
    return Library.open(tmp_path / "other" / "other.library")


class Dialogs(QObject):
    """Answers the dialogs that show two versions, one after the other."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.shown: list[VersionsDialog] = []
        self._acts: list[Callable[[VersionsDialog], object]] = []
        self._timer = QTimer(self, interval=5)
        self._timer.timeout.connect(self._look)

    def next(self, *acts: Callable[[VersionsDialog], object]) -> None:
        self._acts += acts
        self._timer.start()

    def end(self) -> None:
        self._timer.stop()
        assert not self._acts, "a dialog was not shown"

    def _look(self) -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, VersionsDialog) and self._acts and dialog not in self.shown:
            self.shown.append(dialog)
            self._acts.pop(0)(dialog)


@pytest.fixture
def progress(
    other: Library, messages: RecordingMessages, shown: Callable[[ExportProgress], ExportProgress]
) -> ExportProgress:
    return shown(ExportProgress(other.address, messages))


@pytest.fixture
def dialogs(qapp: QApplication) -> Iterator[Dialogs]:
    dialogs = Dialogs(qapp)
    yield dialogs
    dialogs.end()
    dialogs.deleteLater()


def take_the_document(dialog: VersionsDialog) -> None:
    dialog.versions.choose_all(Side.INCOMING)
    dialog.keep.click()


def carried(carrier: ImportExport, messages: RecordingMessages, ids: list[str], path: Path) -> Path:
    messages.files = [path]
    carrier.export_records("deck", ids)
    return path if path.suffix else path.with_suffix(".json")


def test_a_deck_travels_to_another_bench_with_its_fittings(
    carrier: ImportExport,
    library: Library,
    other: Library,
    messages: RecordingMessages,
    tmp_path: Path,
) -> None:
    deck = library.deck(library.decks()[0].id).thing.model_copy(update={"name": "Example, own"})
    kept = library.keep_deck(deck)
    fitting = library.start_fitting(kept.id, library.cartridges()[0].id)
    path = carried(carrier, messages, [kept.id], tmp_path / "travels")
    assert json.loads(path.read_text(encoding="utf-8"))["decks"][0]["id"] == kept.id
    messages.files = [path]
    with other:
        assert ImportExport(other, Numbers(), messages).import_document()
        assert other.deck(kept.id).thing == deck
        assert other.fitting(fitting.id).id == fitting.id
    assert messages.told[-1].title == "Imported"


def test_what_differs_is_shown_side_by_side_and_the_person_decides(
    carrier: ImportExport,
    library: Library,
    other: Library,
    messages: RecordingMessages,
    tmp_path: Path,
    dialogs: Dialogs,
    progress: ExportProgress,
) -> None:
    one = library.deck(library.decks()[0].id)
    for place, notes in ((library, "Notes of this bench."), (other, "Notes of that bench.")):
        place.keep_deck(one.thing.model_copy(update={"notes": notes}), id=one.id)
    path = carried(carrier, messages, [one.id], tmp_path / "deck.json")
    with other:
        messages.files = [path]
        dialogs.next(lambda dialog: dialog.reject())
        there = ImportExport(other, Numbers(), messages, progress)
        assert not there.import_document()
        assert other.deck(one.id).thing.notes == "Notes of that bench."
        assert messages.told[-1].title == "Nothing imported"
        (told,) = dialogs.shown[-1].versions.differences
        assert (told.here, told.incoming) == ("Notes of that bench.", "Notes of this bench.")
        messages.files = [path]
        dialogs.next(
            lambda dialog: (dialog.versions.choose_all(Side.INCOMING), dialog.keep.click())
        )
        assert ImportExport(other, Numbers(), messages).import_document()
        assert other.deck(one.id).thing.notes == "Notes of this bench."
        assert "Notes of that bench." in [k.thing.notes for k in other.deck_records.history(one.id)]


def test_fields_are_chosen_from_both_and_the_same_holds_for_the_others(
    carrier: ImportExport,
    library: Library,
    other: Library,
    messages: RecordingMessages,
    tmp_path: Path,
    dialogs: Dialogs,
    progress: ExportProgress,
) -> None:
    decks = [library.deck(row.id) for row in library.decks()[:3]]
    for one in decks:
        for place, notes, shelf in ((library, "this", "Shelf 1"), (other, "that", "Shelf 2")):
            changed = {"notes": notes, "owner_reference": shelf}
            place.keep_deck(one.thing.model_copy(update=changed), id=one.id)
    path = carried(carrier, messages, [one.id for one in decks], tmp_path / "decks.json")

    def shelf_from_here(dialog: VersionsDialog) -> None:
        for row, side in enumerate((Side.HERE, Side.INCOMING)):
            dialog.versions.choose(row, side)
        dialog.same.setChecked(True)
        assert not dialog.keep.isEnabled()  # fields of this deck say nothing of another
        dialog.same.setChecked(False)
        dialog.keep.click()

    def theirs_for_all(dialog: VersionsDialog) -> None:
        assert dialog.same.text() == "The same for the other one that differs"
        dialog.same.setChecked(True)
        dialog.versions.choose_all(Side.INCOMING)
        dialog.keep.click()

    with other:
        messages.files = [path]
        dialogs.next(shelf_from_here, theirs_for_all)
        there = ImportExport(other, Numbers(), messages, progress, lambda: "Cleo")
        assert there.import_document()
        first, *rest = (other.deck(one.id) for one in decks)
        assert (first.thing.owner_reference, first.thing.notes) == ("Shelf 2", "this")
        assert first.who == "Cleo"
        for one in rest:
            assert (one.thing.owner_reference, one.thing.notes) == ("Shelf 1", "this")


def test_customers_and_service_entries_that_differ_are_shown_as_decks_are(
    library: Library,
    other: Library,
    messages: RecordingMessages,
    tmp_path: Path,
    dialogs: Dialogs,
    progress: ExportProgress,
) -> None:
    deck_id = library.decks()[0].id
    who = library.keep_customer(Customer(name="Customer A", contact="0100")).id
    gone = library.keep_customer(Customer(name="Customer B")).id
    for customer in (who, gone):
        library.keep_job(Job(customer=customer))
    belt = Service(deck=deck_id, part=ServicePart.BELT, day="2024-03-01", done="New belt")
    library.service.add(belt, "belt", who="Ann")
    path = whole_document(library, tmp_path / "all.json")
    with other:
        messages.files = [path]
        assert ImportExport(other, Numbers(), messages, progress).import_document()
        for place, contact, day in ((library, "0101", "2025-01-01"), (other, "0102", "2025-01-02")):
            place.keep_customer(Customer(name="Customer A", contact=contact), id=who)
            place.service.withdraw("belt", day, who="Ann")
        library.forget_customer(gone)
        messages.files = [whole_document(library, tmp_path / "later.json")]
        titles: list[tuple[str, bool, str]] = []

        def keep_theirs(dialog: VersionsDialog) -> None:
            both = dialog.findChild(QPushButton, "versionsBoth")
            assert both is not None
            titles.append((dialog.windowTitle(), both.isVisible(), words_of(dialog)))
            take_the_document(dialog)

        dialogs.next(keep_theirs, keep_theirs)
        assert ImportExport(other, Numbers(), messages, progress).import_document()
        assert other.jobs.customers.get(who).thing.contact == "0101"
        assert other.service.records.get("belt").thing.withdrawn == "2025-01-01"
        assert other.jobs.customers.get(gone).thing.name == "Customer B"
    assert [title for title, *_ in titles] == [
        "Two versions of a customer's record",
        "Two versions of a service entry",
    ]
    assert not any(can_be_two for _, can_be_two, _ in titles)
    assert "0101" in titles[0][2]
    assert "Left out" in titles[1][2]
    assert messages.told[-1].remedy.startswith("Forgotten at the other bench: Customer B. Here")


def whole_document(library: Library, path: Path) -> Path:
    selection = with_customers(library, of_library(library))
    write_document(library, path, selection)
    return path


def test_keeping_both_of_one_leaves_those_that_can_not_be_two_to_be_asked(
    library: Library,
    other: Library,
    messages: RecordingMessages,
    tmp_path: Path,
    dialogs: Dialogs,
    progress: ExportProgress,
) -> None:
    who = library.keep_customer(Customer(name="Customer A")).id
    job = library.keep_job(Job(customer=who))
    with other:
        messages.files = [whole_document(library, tmp_path / "all.json")]
        assert ImportExport(other, Numbers(), messages, progress).import_document()
        for place, words in ((library, "this"), (other, "that")):
            place.keep_customer(Customer(name="Customer A", contact=words), id=who)
            place.keep_job(job.thing.model_copy(update={"noises": words}), id=job.id)
        messages.files = [whole_document(library, tmp_path / "later.json")]

        def both_for_all(dialog: VersionsDialog) -> None:
            dialog.same.setChecked(True)
            both = dialog.findChild(QPushButton, "versionsBoth")
            assert both is not None
            both.click()

        dialogs.next(both_for_all, take_the_document)
        assert ImportExport(other, Numbers(), messages, progress).import_document()
        assert other.jobs.customers.get(who).thing.contact == "this"
        assert len(other.jobs.rows()) == 2


def test_a_list_goes_out_as_a_table_with_the_countrys_separator(
    carrier: ImportExport, library: Library, messages: RecordingMessages, tmp_path: Path
) -> None:
    two = [row.id for row in library.decks()[:2]]
    path = carried(carrier, messages, two, tmp_path / "decks.csv")
    lines = path.read_text(encoding="utf-8-sig").splitlines()
    assert len(lines) == 3
    assert lines[0].startswith("Name;Owner's reference;Arm;")


def test_the_library_itself_is_never_written_over(
    carrier: ImportExport, library: Library, messages: RecordingMessages
) -> None:
    before = library.address.path.read_bytes()
    messages.files = [library.address.path]
    carrier.export_records("cartridge", [library.cartridges()[0].id])
    assert messages.told[-1].title == "Not exported"
    assert library.address.path.read_bytes() == before


def test_a_file_that_is_no_document_is_refused_in_a_sentence(
    carrier: ImportExport, library: Library, messages: RecordingMessages, tmp_path: Path
) -> None:
    letter = tmp_path / "letter.json"
    letter.write_text("Dear customer,")
    messages.files = [letter]
    total = len(library.decks())
    assert not carrier.import_document()
    assert "letter.json can't be read" in messages.sentences[0]
    assert len(library.decks()) == total


def test_backing_out_writes_nothing(
    carrier: ImportExport, messages: RecordingMessages, library: Library
) -> None:
    messages.files = [None, None]
    carrier.export_records("deck", [library.decks()[0].id])
    assert not carrier.import_document()
    assert messages.told == []


def test_a_library_is_not_taken_for_a_document_nor_opened_as_one(
    carrier: ImportExport, messages: RecordingMessages, library: Library, tmp_path: Path
) -> None:
    link = tmp_path / "library.json"
    link.symlink_to(library.address.path)
    for chosen in (library.address.path, link, tmp_path / "not there.library"):
        messages.files = [chosen]
        assert not carrier.import_document()
        assert "is a library, not a document" in messages.sentences[-1]


def test_the_whole_library_goes_out_as_one_document_and_comes_in_elsewhere(
    carrier: ImportExport,
    library: Library,
    other: Library,
    messages: RecordingMessages,
    tmp_path: Path,
) -> None:
    deck = library.deck(library.decks()[0].id).thing.model_copy(update={"name": "Example, own"})
    kept = library.keep_deck(deck)
    library.archive("deck", [kept.id], archived=True)
    fitting = library.start_fitting(kept.id, library.cartridges()[0].id)
    messages.files = [tmp_path / "all"]
    carrier.export_library()
    messages.files = [tmp_path / "all.json"]
    with other:
        assert ImportExport(other, Numbers(), messages).import_document()
        for ours, theirs in (
            (library.decks(), other.decks()),
            (library.cartridges(), other.cartridges()),
            (library.fittings(), other.fittings()),
        ):
            assert {row.id for row in ours} <= {row.id for row in theirs}
        assert other.fitting(fitting.id).deck_id == kept.id


def test_a_whole_library_is_not_squeezed_into_a_table(
    carrier: ImportExport, messages: RecordingMessages, tmp_path: Path
) -> None:
    messages.files = [tmp_path / "all.csv"]
    carrier.export_library()
    assert messages.told[-1].title == "Not exported"
    assert not (tmp_path / "all.csv").exists()


def test_figures_go_out_as_tables_beside_each_other_and_nothing_is_replaced_unasked(
    carrier: ImportExport, library: Library, messages: RecordingMessages, tmp_path: Path
) -> None:
    ids = library.decks()[0].id, library.cartridges()[0].id
    keep(library, "2025-03-31", *ids)
    messages.files = [tmp_path / "shop.csv"] * 2
    carrier.export_figures([])
    names = {path.name: path for path in tmp_path.glob("shop-*.csv")}
    assert sorted(names) == [
        "shop-columns.csv",
        "shop-figures.csv",
        "shop-fittings.csv",
        "shop-steps.csv",
    ]
    assert messages.told[-1].title == "Exported"
    assert messages.told[-1].went_well, "an export that is written is no problem"
    offered = messages.file_questions[0][1].name
    assert offered == "setdown.csv", "setdown-figures.csv comes of it, not figures-figures.csv"
    before = names["shop-figures.csv"].stat().st_mtime_ns
    messages.answers = [1]
    carrier.export_figures([])
    assert "shop-figures.csv" in messages.asked[-1].sentence
    assert messages.asked[-1].choices[messages.asked[-1].enter] == "&Keep them", "Enter is safe"
    assert names["shop-figures.csv"].stat().st_mtime_ns == before


def test_a_file_is_asked_for_where_a_persons_documents_lie_and_then_where_the_last_one_was(
    carrier: ImportExport,
    messages: RecordingMessages,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Preferences, "of_program", Preferences(tmp_path / "own.ini"))
    last = tmp_path / "to send"
    last.mkdir()
    messages.files = [last / "all.json", None]
    carrier.export_library()
    assert messages.file_questions[0][1].parent == tmp_path / "home"  # it has no Documents
    carrier.import_document()
    assert messages.file_questions[1][1] == last


def test_without_a_fitting_there_are_no_figures_to_write(
    carrier: ImportExport, messages: RecordingMessages
) -> None:
    carrier.export_figures([])
    assert messages.told[-1].sentence == "There is no fitting here yet, so there are no figures."


def test_many_figures_are_written_beside_the_window(
    library: Library,
    messages: RecordingMessages,
    tmp_path: Path,
    qtbot: QtBot,
    shown: Callable[[ExportProgress], ExportProgress],
) -> None:
    ids = library.decks()[0].id, library.cartridges()[0].id
    for day in range(1, 13):
        keep(library, f"2025-03-{day:02}", *ids)
    progress = shown(ExportProgress(library.address, messages))
    messages.files = [tmp_path / "shop.csv"]
    ImportExport(library, Numbers(), messages, progress).export_figures([])
    assert progress.is_busy
    assert messages.told == []
    qtbot.waitUntil(lambda: not progress.is_busy, timeout=20_000)
    assert messages.told[-1].title == "Exported"
    assert len((tmp_path / "shop-fittings.csv").read_text().splitlines()) == 13


def test_a_late_click_on_a_library_that_was_closed_does_nothing(
    window: MainWindow, messages: RecordingMessages, tmp_path: Path
) -> None:
    window.open_library(tmp_path / "one.library")
    before = window.pages.currentWidget()
    assert isinstance(before, LibraryScreen)
    window.open_library(tmp_path / "another.library")
    messages.files = [tmp_path / "nothing.json"]
    before.take_in.click()  # the second half of a double click
    assert (messages.told, len(messages.files)) == ([], 1)
