"""Documents and tables out of the library, documents into it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from core.language import Name, Numbers, Quantity, message
from core.store import Library, LibraryProblem, WorkStoppedError
from desktop.tasks.background_task import GoOn, Told
from desktop.tasks.blocking_task import run_blocking
from desktop.tasks.garbage_collector import held
from desktop.widgets.documents_folder import documents_folder, remember_document
from desktop.widgets.language import said, tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.plain_text import one_line

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.store.exporting import Selection
    from core.store.importing import FieldsChosen, ImportDecision, ImportItem, ImportPlan
    from core.store.taking_back import Brought
    from desktop.library.deciding import Decided
    from desktop.library.export_progress import ExportProgress

T = TypeVar("T")

_DOCUMENTS: Final = message("library.import_export.setdown_documents_json")
_ALL: Final = "library"
_TABLES: Final = message("library.import_export.tables_for_a_spreadsheet_csv")
_LARGE_BYTES: Final = 200_000
_MOST_NAMED: Final = 5
"""Names that stand in one sentence."""
_MOST_AT_ONCE: Final = 200
"""Records that are written without a noticeable wait."""
_MOST_PICTURES: Final = 10
"""Pictures that are written without one either."""
_MOST_REPLAYED_AT_ONCE: Final = 10
"""Fittings whose figures are worked out without a noticeable wait."""


class ImportExport:
    """Exports and imports records, and exports tables for a spreadsheet.

    Nothing in the library is ever overwritten, and what comes in comes in whole or not at all.
    """

    def __init__(
        self,
        library: Library,
        numbers: Numbers,
        messages: Messages,
        progress: ExportProgress | None = None,
        who: Callable[[], str] = str,
    ) -> None:
        self._progress = progress
        self._who = who
        self._library = library
        self._numbers = numbers
        self._messages = messages
        self.brought: tuple[Brought | None, str] = None, ""
        """What the last import brought, and the name of its document."""

    def export_records(self, kind: str, ids: Sequence[str]) -> None:
        """Write records to a document, or their rows to a table if a name ends in ``.csv``."""
        named = kind if len(ids) == 1 else f"{kind}s"
        self._export_to(
            tr("library.import_export.export_records", sort=named, count=len(ids)),
            named,
            f"{said(_DOCUMENTS)};;{said(_TABLES)}",
            kind,
            ids,
        )

    def export_library(self) -> None:
        """Write the whole library to one document, what is archived as well."""
        self._export_to(
            tr("library.import_export.export_the_whole_library"),
            "library",
            said(_DOCUMENTS),
            _ALL,
            (),
        )

    def export_figures(self, fitting_ids: Sequence[str]) -> None:
        """Write every figure of fittings, of all if none is picked, as tables beside each other."""
        from core import spreadsheet  # as below

        count = len(fitting_ids) or len(self._library.fittings())
        if not count:
            self._messages.tell(
                tr("library.import_export.not_exported"),
                tr("library.import_export.no_fitting_yet"),
            )
            return
        chosen = self._messages.file_to_save(
            tr("library.import_export.figures_of_fittings"),
            documents_folder() / "setdown.csv",
            said(_TABLES),
        )
        if chosen is None:
            return
        remember_document(chosen)
        files, numbers = tuple(spreadsheet.names_of(chosen).values()), self._numbers
        there = [path.name for path in files if path.exists()]
        if there and not self._may_replace(there):
            return

        def write(library: Library, go_on: GoOn, told: Told) -> None:
            spreadsheet.write_tables(library, chosen, fitting_ids, numbers, go_on=go_on, told=told)

        if self._progress is not None and count > _MOST_REPLAYED_AT_ONCE:
            self._progress.begin(files[0], count, write)
            return
        try:
            with _waiting():
                write(self._library, lambda: True, lambda _written: None)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self._messages.tell(
            tr("library.import_export.exported"),
            tr("library.import_export.it_is_in_path", path=Name(str(files[0]))),
            tr("library.import_export.tables_beside_it", folder=Name(str(files[0].parent))),
            went_well=True,
        )

    def _may_replace(self, names: Sequence[str]) -> bool:
        answer = self._messages.ask(
            tr("library.import_export.tables_are_there"),
            tr("library.import_export.replace_names", names=Name(", ".join(names))),
            [tr("library.import_export.replace_them"), tr("library.import_export.keep_them")],
            stays=1,
            enter=1,
        )
        return answer == 0

    def _export_to(self, title: str, name: str, kinds: str, kind: str, ids: Sequence[str]) -> None:
        start = documents_folder() / f"{name}.json"
        chosen = self._messages.file_to_save(title, start, kinds)
        if chosen is None:
            return
        remember_document(chosen)
        path = chosen if chosen.suffix else chosen.with_suffix(".json")
        if self._library.address.is_at(path):
            self._messages.tell(
                tr("library.import_export.not_exported"),
                tr("library.import_export.path_is_the_library_itself", path=Name(str(path))),
                tr("library.import_export.choose_another_name_nothing_was"),
            )
            return
        is_table = path.suffix.lower() == ".csv"
        if is_table and kind == _ALL:
            self._messages.tell(
                tr("library.import_export.not_exported"),
                tr("library.import_export.a_table_cant_hold_a"),
                tr("library.import_export.choose_a_name_that_ends"),
            )
            return
        try:
            with _waiting():
                if is_table:
                    self._write_table(path, kind, ids)
                elif not self._write_document(path, kind, ids):
                    return
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self._messages.tell(
            tr("library.import_export.exported"),
            tr("library.import_export.it_is_in_path", path=Name(str(path))),
        )

    def import_document(self) -> bool:
        """Ask for a document and take it in; return whether the library has changed."""
        chosen = self._messages.file_to_open(
            tr("library.import_export.import"), documents_folder(), said(_DOCUMENTS)
        )
        if chosen is None:
            return False
        remember_document(chosen)
        return self.take_in(chosen)

    def take_in(self, chosen: Path) -> bool:
        """Take a document in; return whether the library has changed."""
        # Imported here: a library is opened far more often than a document comes in.
        from core.store import importing

        if self._library.address.may_be_library(chosen):  # without opening it
            self._messages.tell(
                tr("library.import_export.nothing_taken_in"),
                tr("library.import_export.chosen_is_a_library_not", chosen=Name(chosen.name)),
                tr("library.import_export.open_it_with_another_library"),
            )
            return False
        try:
            with held():  # while it is asked about a large document too
                planned = self._taken_in(chosen)
        except WorkStoppedError:
            self._messages.tell(
                tr("library.import_export.import_stopped"),
                tr("library.import_export.the_library_is_as_it"),
            )
            return False
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return False
        if planned is None:
            self._messages.tell(
                tr("library.import_export.nothing_taken_in"),
                tr("library.import_export.the_library_is_as_it"),
            )
            return False
        counts = [(status, planned.count(status)) for status in importing.MatchKind]
        found = ", ".join(
            tr("documents.counted", status=status, count=n) for status, n in counts if n
        )
        self._messages.tell(
            tr("library.import_export.taken_in"),
            tr("library.import_export.now_in_library", name=Name(chosen.name), held=Name(found))
            if found
            else tr("library.import_export.empty_in_library", name=Name(chosen.name)),
            self._gone_there(planned),
            went_well=True,
        )
        return True

    def _gone_there(self, planned: ImportPlan) -> str:
        """Say what the other bench erased and this one keeps; nothing if there is nothing."""

        def names(sort: str) -> Name | None:
            found = [one.name for one in planned.items if one.sort == sort and one.erased_there]
            more = ["…"] if len(found) > _MOST_NAMED else []
            said_so = ", ".join([*map(one_line, found[:_MOST_NAMED]), *more])
            return Name(said_so) if found else None

        told, customers, pictures = [], names("customer"), names("picture")
        if customers:
            told.append(tr("library.import_export.forgotten_there", names=customers))
        if pictures:
            told.append(tr("library.import_export.erased_there", names=pictures))
        return " ".join(told)

    def _taken_in(self, chosen: Path) -> ImportPlan | None:
        """Read a document, ask, take it in; None if it was not decided, and nothing came in.

        Whatever becomes of it, the document is taken apart where it was read: of a large one that
        is no matter of an instant.
        """
        from core.store import documents, importing  # as above

        def read(library: Library, go_on: GoOn, told: Told) -> ImportPlan:
            document = documents.read_document(chosen, go_on, told)
            try:
                return importing.plan(library, document, go_on)
            except Exception:
                documents.let_go(document)
                raise

        name = Name(chosen.name)
        planned = self._done(
            chosen,
            tr("library.import_export.reading_chosen", chosen=name),
            read,
            most=min(_size_of(chosen), documents.LARGEST_BYTES),
        )
        decisions = self._decisions(planned)
        if decisions is None:
            self._done(
                chosen,
                tr("library.import_export.closing_chosen", chosen=name),
                lambda _library, _go_on, _told: documents.let_go(planned.document),
            )
            return None

        def take(library: Library, go_on: GoOn, told: Told) -> None:
            try:
                brought = importing.take_in(library, planned, decisions, go_on=go_on, told=told)
                self.brought = brought, chosen.name
                with suppress(LibraryProblem):  # the window tries again, and has less to do
                    library.settle()
            finally:
                documents.let_go(planned.document)

        self._done(
            chosen,
            tr("library.import_export.taking_in_chosen", chosen=name),
            take,
            most=len(planned.items),
        )
        return planned

    def _done(
        self,
        chosen: Path,
        words: str,
        work: Callable[[Library, GoOn, Told], T],
        most: int = 0,
    ) -> T:
        """Do work on the library: at once, or in a background thread for a large document."""
        if self._progress is None or _size_of(chosen) <= _LARGE_BYTES:
            return work(self._library, lambda: True, lambda _count: None)
        place, who, is_shut = self._library.address, self._library.who, self._library.read_only

        def apart(go_on: GoOn, told: Told) -> T:
            with Library.open(place, who, read_only=is_shut) as library:
                return work(library, go_on, told)

        return run_blocking(self._progress.window(), words, apart, most)

    def _decisions(self, planned: ImportPlan) -> dict[str, ImportDecision | FieldsChosen] | None:
        """Ask about everything that differs; None if the person imports nothing."""
        decisions: dict[str, ImportDecision | FieldsChosen] = {}
        conflicts = planned.conflicts

        def is_open(one: ImportItem) -> bool:
            return one.id not in decisions and one.is_asked_beside(decisions)

        for place, item in enumerate(conflicts, start=1):
            if not is_open(item):
                continue
            rest = [one for one in conflicts[place:] if is_open(one)]
            others = [one for one in rest if (one.logs is None) is (item.logs is None)]
            decided = self._which(item, len(others))
            if decided is None:
                return None
            decisions[item.id] = decided.decision
            if decided.for_all:
                alike = (one.id for one in others if one.is_decided_by(decided.decision))
                decisions.update(dict.fromkeys(alike, decided.decision))
        return decisions

    def _which(self, item: ImportItem, others: int) -> Decided | None:
        from desktop.library.logs_dialog import ask_which_log  # as above
        from desktop.library.versions_dialog import ask_which

        window = None if self._progress is None else self._progress.window()
        if item.logs is not None:
            return ask_which_log(window, item, others, self._numbers)
        return ask_which(window, item, others, self._numbers, self._who())

    def _write_document(self, path: Path, kind: str, ids: Sequence[str]) -> bool:
        """Write a document; False if it is large and still being written."""
        from core.store import exporting  # as above

        choose = {
            "deck": exporting.of_decks,
            "cartridge": exporting.of_cartridges,
            "headshell": exporting.of_headshells,
            "test record": exporting.of_test_records,
            "fitting": exporting.of_fittings,
            "job": exporting.of_jobs,
            _ALL: exporting.of_library,
        }[kind]
        selection = choose(self._library, *ids)
        whole = exporting.with_customers(self._library, selection)
        if whole.customers:
            answer = self._messages.ask(
                tr("library.import_export.customers"),
                tr("library.import_export.customers_question", count=len(whole.customers)),
                [
                    tr("library.import_export.without_customers"),
                    tr("library.import_export.with_customers"),
                ],
            )
            if answer is None:
                self._say_not_exported()
                return False
            selection = whole if answer == 1 else selection
        chosen = self._with_pictures(selection)
        if chosen is None:
            self._say_not_exported()
            return False
        selection = chosen
        is_long = selection.count > _MOST_AT_ONCE or len(selection.pictures) > _MOST_PICTURES
        if self._progress is not None and is_long:
            self._progress.begin(
                path,
                selection.count,
                lambda library, go_on, told: exporting.write_document(
                    library, path, selection, go_on=go_on, told=told
                ),
            )
            return False
        exporting.write_document(self._library, path, selection)
        return True

    def _say_not_exported(self) -> None:
        self._messages.tell(
            tr("library.import_export.not_exported"),
            tr("library.import_export.the_library_is_as_it"),
        )

    def _with_pictures(self, selection: Selection) -> Selection | None:
        """Ask whether pictures go along, if there are any and they may; None to export nothing."""
        from core.store import exporting  # as above

        whole = exporting.with_pictures(self._library, selection)
        if not whole.pictures:
            return selection
        most = exporting.bytes_in_document(self._library, whole)
        count, size = len(whole.pictures), Name(self._numbers.value(Quantity(most / 1e6, "MB", 1)))
        without = tr("library.import_export.without_pictures")
        title = tr("library.import_export.pictures")
        if exporting.may_be_too_large(self._library, whole):
            sentence = tr("library.import_export.pictures_too_large", count=count, size=size)
            return selection if self._messages.ask(title, sentence, [without]) == 0 else None
        sentence = tr("library.import_export.pictures_question", count=count, size=size)
        choices = [tr("library.import_export.with_pictures"), without]
        answer = self._messages.ask(title, sentence, choices)
        return None if answer is None else (whole, selection)[answer]

    def _write_table(self, path: Path, kind: str, ids: Sequence[str]) -> None:
        from core.store import tables  # as above

        delimiter = tables.delimiter_for(self._numbers)
        if kind == "fitting":
            table = tables.fitting_table(
                self._library.log.rows_of(ids), delimiter=delimiter, numbers=self._numbers
            )
        elif kind == "job":
            jobs = self._library.jobs.rows_of(ids)
            table = tables.job_table(jobs, delimiter=delimiter, numbers=self._numbers)
        else:
            table = tables.record_table(
                self._library.records(kind).rows_of(ids),
                sort=kind,
                delimiter=delimiter,
                numbers=self._numbers,
            )
        tables.write_table(path, table)


def _size_of(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0  # reading it reports what is wrong


@contextmanager
def _waiting() -> Iterator[None]:
    """Show the wait cursor."""
    if QGuiApplication.instance() is None:
        yield
        return
    QGuiApplication.setOverrideCursor(Qt.CursorShape.WaitCursor)
    try:
        yield
    finally:
        QGuiApplication.restoreOverrideCursor()
