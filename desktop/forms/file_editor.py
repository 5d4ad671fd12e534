"""Figures read from a file, in a thread while the form stays usable."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any, Final

from PySide6.QtCore import QEvent, QMimeData, QObject, Qt, QTimer
from PySide6.QtGui import QDropEvent, QKeyEvent
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QLineEdit, QWidget

from core.language import Name, Numbers, ToldProblem, message
from core.records import FieldSpec, FileFigures, RecordPlayed
from core.steps.shared import HeardSound
from desktop.forms.field_editors import Answer, FieldEditor, fill
from desktop.forms.keep_sound import KeepSound
from desktop.forms.live_panel import LivePanel
from desktop.forms.made_sound import MadeSound, MakeSound, WriteRecording
from desktop.forms.record_chooser import RecordChooser
from desktop.tasks.background_task import BackgroundTask, GoOn
from desktop.widgets import theme
from desktop.widgets.flow_row import FlowRow
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import add_all, button, column_in, set_shown, text_label

_SHOWN_EVERY_MS: Final = 200


class FileEditor(FieldEditor):
    """A file's path, typed or chosen. The field has its value once the file was read."""

    def __init__(self, spec: FieldSpec, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(spec, parent)
        self._numbers = numbers
        if spec.member is None or not issubclass(spec.member, FileFigures):
            raise TypeError(f"the file {spec.name!r} has no figures")
        self._figures = spec.member
        self._value: FileFigures | None = None
        self._problem, self._share = "", 0.0
        self._heard_live: Path | None = None
        self._make: MakeSound | None = None
        self._made, self._is_made, self._is_writing = MadeSound(), False, False
        self.destroyed.connect(self._made.let_go)
        self._task: BackgroundTask | None = None
        self.line = QLineEdit(self)
        self.line.setAccessibleName(spec.label)
        self.line.setAccessibleDescription(spec.help)
        self.line.setMinimumWidth(round(theme.em(self) * 7.0))  # the end of a path stays readable
        self._can_listen = issubclass(spec.member, HeardSound)
        row = QWidget(self)
        inside = add_all(QHBoxLayout(row), (self.line, 1), FlowRow(self._ways_to_a_file()))
        inside.setContentsMargins(0, 0, 0, 0)
        self._live_place = QWidget(self)
        self._live_column = column_in(self._live_place)
        self._live_place.hide()
        self.live: LivePanel | None = None
        self._progress = text_label("", "muted")
        self.stop_button = button(
            tr("forms.file_editor.stop"), tip=tr("forms.file_editor.gives_up"), quiet=True
        )
        self.stop_button.setFocusPolicy(Qt.FocusPolicy.ClickFocus)  # by keyboard Escape
        self.stop_button.clicked.connect(self.give_up)
        self._reading = QWidget(self)
        below = add_all(QHBoxLayout(self._reading), (self._progress, 1), self.stop_button)
        below.setContentsMargins(0, 0, 0, 0)
        self._found = text_label("", "muted")
        self.keep_box = KeepSound(numbers, self)
        self._message = MessageLine(self)
        self.records = RecordChooser(self)
        self.records.chosen.connect(self._on_record)
        self.records.entered.connect(self._on_enter)
        self.records.setVisible(self._can_listen)
        self._record_row = FlowRow((self.record_button,))
        fill(
            self,
            row,
            self._record_row,
            self.records,
            self._live_place,
            self._reading,
            self._found,
            self.keep_box,
            self._message,
        )
        # Showing the button that listens now would cost it the type of its line.
        for one in (
            self._reading,
            self._found,
            self._record_row,
            *(() if self._can_listen else (self.listen_button,)),
        ):
            one.hide()
        self.line.installEventFilter(self)
        self._tick = QTimer(self, interval=_SHOWN_EVERY_MS)
        self._tick.timeout.connect(self._show_progress)
        self.line.textEdited.connect(self._forget)
        self.line.editingFinished.connect(self._read)
        self.line.returnPressed.connect(self._on_enter)

    def _ways_to_a_file(self) -> tuple[QWidget, ...]:
        """Return the buttons beside the line; the one that records is wider than they are."""
        chooser = button(
            tr("forms.file_editor.choose"),
            tip=tr("forms.file_editor.looks_for", field=Name(self.spec.label)),
            quiet=True,
        )
        chooser.clicked.connect(self._choose)
        self.listen_button = button(
            tr("forms.file_editor.listen"), tip=tr("forms.file_editor.listens"), quiet=True
        )
        self.listen_button.clicked.connect(self._listen)
        self.record_button = button(
            tr("forms.file_editor.record_deck"),
            tip=tr("forms.file_editor.records_deck"),
            quiet=True,
        )
        self.record_button.clicked.connect(self._record)
        return chooser, self.listen_button

    @property
    def hears_sound(self) -> bool:
        """Whether the file holds sound, which can also be recorded live."""
        return self._can_listen

    @property
    def is_reading(self) -> bool:
        """Whether a file is being read now."""
        return self._task is not None

    def answer(self) -> Answer:
        """Return the figures, or that they are not ready."""
        if self._value is not None or (self.spec.optional and not self.line.text().strip()):
            return Answer(self._value)
        if self._problem and not self.is_reading:
            return Answer(problems=((self.spec.label, self._problem),))
        field = Name(self.spec.label)
        if self.is_reading:
            problem = tr("forms.file_editor.still_being_read", field=field)
        else:
            problem = tr("forms.file_editor.choose_a_file", field=field)
        return Answer(problems=((self.spec.label, problem),))

    def put(self, value: Any) -> None:
        """Show the name of the file that these figures are from; None clears the field."""
        self._stop()
        self._value, self._problem, self._heard_live = value, "", None
        self._is_made = False
        self.keep_box.offer(None)
        if isinstance(value, HeardSound):
            self.records.choose(value.record)
        self.line.setText(value.file if value is not None else "")
        self._message.say("")
        self._tell()

    def raw(self) -> str:
        """Return the path."""
        return self.line.text()

    def put_raw(self, raw: Any) -> None:
        """Show a path, without reading it."""
        if isinstance(raw, str):
            self.put(None)
            self.line.setText(raw)

    def tab_stops(self) -> list[QWidget]:
        """Return the line edit, and the button for a live recording."""
        if not self._can_listen:
            return [self.line]
        is_open = self.live is not None and not self._live_place.isHidden()
        inside = self.live.tab_stops() if self.live is not None and is_open else []
        record = [self.record_button] if self._make is not None else []
        return [self.line, self.listen_button, *record, self.records.box, *inside, self.keep_box]

    def reveal(self) -> None:
        """Show what is missing or wrong."""
        problems = self.answer().problems
        self._message.say(problems[0][1] if problems else "")

    def settle(self) -> None:
        """Clear a file that is read anew each time."""
        if self.spec.required:
            self.put(None)

    def give_up(self) -> None:
        """Stop reading; the path stays, and Enter reads it again from the start.

        Half of a recording is no file: its name goes.
        """
        if self._is_writing:
            self.line.clear()
            self._forget()
        elif self.is_reading:
            self._stop()
            self.changed.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Accept a file dropped on the line; stop reading on Escape."""
        if (
            self.is_reading
            and event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
        ):
            self.give_up()
            return True
        if isinstance(event, QDropEvent):  # a drop begins with drag enter and drag move events
            path = _local_file(event.mimeData())
            if path is not None:
                event.acceptProposedAction()
                if event.type() == QEvent.Type.Drop:
                    self._take(path)
                return True
        return super().eventFilter(watched, event)

    def _take(self, path: str) -> None:
        self.line.setText(path)
        self._forget()
        self._read()

    def _choose(self) -> None:
        kinds = " ".join(f"*.{ending}" for ending in self._figures.ENDINGS)
        name, _ = QFileDialog.getOpenFileName(self, self.spec.label, self.line.text(), kinds)
        if name:
            self._take(name)

    def offer_records(self, records: Sequence[RecordPlayed], usual: RecordPlayed | None) -> None:
        """List the test records that may have played, and the usual one."""
        self.records.offer(records, usual)

    def offer_recording(self, make: MakeSound) -> None:
        """Offer a recording that the program makes itself, of a deck that it simulates."""
        is_new = self._make is None
        self._make = make
        if is_new:
            self._record_row.show()
            self.fields_changed.emit()

    @property
    def sound_to_keep(self) -> tuple[Path, str] | None:
        """The file and fingerprint of the sound to keep, or None."""
        value, path = self._value, self.keep_box.path
        if not isinstance(value, HeardSound) or path is None or not value.sha256:
            return None
        return path, value.sha256

    def _on_record(self) -> None:
        """Read the sound again with another record; report if the file is gone."""
        heard = self._heard_live
        is_made = self._is_made
        source = heard or Path(self.line.text().strip()).expanduser()
        if source.is_file():
            self._forget()
            self._heard_live, self._is_made = heard, is_made
            self._read()
        elif self._value is not None:
            self._forget()
            self._problem = tr("forms.file_editor.read_for_another_record")
            self._message.say(self._problem)

    def _listen(self) -> None:
        """Open or close the panel for a live recording."""
        if self.live is None and issubclass(self._figures, HeardSound):
            self.live = LivePanel(self._figures, self._numbers, lambda: self.records.played)
            self.live.taken.connect(self._take_live)
            self._live_column.addWidget(self.live)
        if self.live is None:
            return
        set_shown(self._live_place, shown=self._live_place.isHidden())
        if not self._live_place.isHidden():
            self.live.list_inputs()
        self.fields_changed.emit()

    def _record(self) -> None:
        """Make a recording and read it as any file; it is not offered to be kept."""
        if self._make is None:
            return
        self._forget()
        self.line.clear()
        try:
            write = self._make(self.records.played)
        except ToldProblem as fault:
            self._problem = self._told_problem(fault)
            self._message.say(self._problem)
            self.changed.emit()
            return
        self._heard_live = self._made.fresh(tr("forms.file_editor.deck_file"))
        self._is_made = True
        self.line.setText(self._heard_live.name)
        self._read(write)

    def _take_live(self, figures: FileFigures) -> None:
        self.put(figures)
        self._heard_live = self.live.path if self.live is not None else None
        self.keep_box.offer(self._heard_live)
        self._live_place.hide()
        self.line.setFocus()
        self.changed.emit()

    def _on_enter(self) -> None:
        self._read()
        if not self.is_reading:
            self.entered.emit()

    def _forget(self) -> None:
        """Drop the figures of another file."""
        self._stop()
        self._value, self._problem, self._heard_live = None, "", None
        self._is_made = False
        self.keep_box.offer(None)
        self._message.say("")
        self._tell()
        self.changed.emit()

    def _read(self, write: WriteRecording | None = None) -> None:
        """Read the file in a thread, once it is written by ``write``, if any."""
        typed = self.line.text().strip()
        if not typed or self._value is not None or self._problem or self.is_reading:
            return
        path, self._share = self._heard_live or Path(typed).expanduser(), 0.0
        played = self.records.played
        self._is_writing = write is not None

        def work(go_on: GoOn) -> FileFigures | Exception | None:
            try:
                with closing(write(path) if write is not None else _nothing()) as writing:
                    for self._share in writing:
                        if not go_on():
                            return None
            except OSError as fault:
                return ToldProblem(
                    message("forms.file_editor.not_written", why=Name(str(fault.strerror)))
                )
            self._is_writing, self._share = False, 0.0
            shares = (
                self._figures.read(path, played)
                if issubclass(self._figures, HeardSound)
                else self._figures.read(path)
            )
            try:
                while go_on():
                    self._share = next(shares)
            except StopIteration as end:
                found: FileFigures = end.value
                return found
            except (OSError, ValueError, ToldProblem) as fault:
                return fault
            return None

        self._task = BackgroundTask(work)
        self._task.done.connect(self._on_read)
        if self._is_made:
            self._made.task = self._task
        else:
            self.destroyed.connect(self._task.stop)
        self._show_progress()
        self._tick.start()
        self._task.start()
        self.changed.emit()

    def _on_read(self, result: object) -> None:
        self._stop()
        if isinstance(result, FileFigures):
            self._value = result
            self._tell()
            if self._can_listen and not self._is_made:
                self.keep_box.offer(self._heard_live or Path(self.line.text().strip()).expanduser())
        else:
            field = Name(self.spec.label)
            if isinstance(result, ToldProblem):
                self._problem = self._told_problem(result)
            elif isinstance(result, OSError):
                why = Name(str(result.strerror))
                self._problem = tr("forms.file_editor.cannot_be_read", field=field, why=why)
            else:
                why = Name(str(result))
                self._problem = tr("forms.file_editor.holds_no_such", field=field, why=why)
            self._message.say(self._problem)
        self.changed.emit()

    def _told_problem(self, problem: ToldProblem) -> str:
        said = (self._numbers.text(one) for one in (problem.what, problem.todo))
        return " ".join(said).strip()

    def _stop(self) -> None:
        if self._task is not None:
            self._task.stop()
            self._task = None
        self._is_writing = False
        self._tick.stop()
        self._reading.hide()

    def _show_progress(self) -> None:
        percent = round(100.0 * self._share)
        self._progress.setText(
            tr("forms.file_editor.recording_the_deck", percent=percent)
            if self._is_writing
            else tr("forms.file_editor.reading_the_file", percent=percent)
        )
        self._reading.show()

    def _tell(self) -> None:
        """Show the contents of the file and its faults."""
        told = self._value.told() if self._value is not None else ()
        self._found.setText(" ".join(self._numbers.text(one) for one in told))
        set_shown(self._found, shown=bool(told))


def _nothing() -> Generator[float, None, None]:
    yield from ()


def _local_file(dropped: QMimeData) -> str | None:
    """Return the first local file of a drop, or None."""
    paths = [url.toLocalFile() for url in dropped.urls() if url.isLocalFile()]
    return next((path for path in paths if path), None)
