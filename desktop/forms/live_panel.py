"""A live recording: an input is captured in a thread, and the figures are shown as they come."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QFileDialog, QGridLayout, QHBoxLayout, QScrollArea, QWidget

from core.language import Message, Name, Numbers, Quantity, ToldProblem, message
from core.records import RecordPlayed
from core.steps.shared import HeardSound, LiveState, LiveTold, LiveTones
from desktop.forms.level_meter import LevelMeter, db_of
from desktop.tasks.background_task import BackgroundTask, GoOn
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.language import tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import (
    add_all,
    button,
    column_in,
    framed,
    heading,
    may_be_narrow,
    set_shown,
    text_label,
)
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.preferences import Preferences

if TYPE_CHECKING:
    from core.recordings import SoundInput

_SHOWN_EVERY_MS: Final = 40
_STEREO: Final = 2


@dataclass(frozen=True, slots=True)
class LiveEnd:
    """The result of a live reading: figures, or why there are none, and the sound file.

    ``lost`` is the number of lost blocks of sound, normally 0.
    """

    figures: HeardSound | None
    problem: ToldProblem | None
    path: Path | None
    lost: int = 0


class LivePanel(QWidget):
    """Chooses an input, records until there is enough, and offers the figures."""

    taken = Signal(object)
    """The person uses these figures (a ``HeardSound``)."""

    def __init__(
        self,
        wanted: type[HeardSound],
        numbers: Numbers,
        played: Callable[[], RecordPlayed | None] = lambda: None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._played = played
        self._wanted, self._numbers = wanted, numbers
        self._inputs: tuple[SoundInput, ...] = ()
        self._listing: BackgroundTask | None = None
        self._task: BackgroundTask | None = None
        self._told: LiveTold | None = None
        self._is_to_end = False
        self._lost = 0
        self._has_shown: tuple[LiveState, int] | None = None
        self._ended: LiveEnd | None = None
        self._make()
        self._tick = QTimer(self, interval=_SHOWN_EVERY_MS)
        self._tick.timeout.connect(self._show_told)

    def _make(self) -> None:
        column = framed(self)
        self.input_box = ElidedCombo()
        self.input_box.setAccessibleName(tr("forms.live_panel.input"))
        may_be_narrow(self.input_box)
        self.input_box.currentIndexChanged.connect(self._show_channels)
        self.again_button = button(
            tr("forms.live_panel.list_again"), tip=tr("forms.live_panel.looks_for"), quiet=True
        )
        self.again_button.clicked.connect(self.list_inputs)
        self.left_box, self.right_box = ElidedCombo(), ElidedCombo()
        self._channels = QWidget()
        channels = QHBoxLayout(self._channels)
        channels.setContentsMargins(0, 0, 0, 0)
        for words, box in (
            (tr("forms.live_panel.left"), self.left_box),
            (tr("forms.live_panel.right"), self.right_box),
        ):
            box.setAccessibleName(words)
            add_all(channels, text_label(words), box)
        channels.addStretch(1)
        self._channels.hide()
        self.start_button = button(
            tr("forms.live_panel.start"), tip=tr("forms.live_panel.starts"), primary=True
        )
        self.start_button.setEnabled(False)
        self.start_button.clicked.connect(self.start)
        self.stop_button = button(
            tr("forms.live_panel.stop"), tip=tr("forms.live_panel.stops"), quiet=True
        )
        self.stop_button.clicked.connect(self.end)
        self.stop_button.hide()
        self.state = heading("", 1.1)
        self.now = heading("", 1.4)
        self.figures = text_label("")
        self.message = MessageLine(self)
        self.use_button = button(
            tr("forms.live_panel.use"), tip=tr("forms.live_panel.uses"), primary=True
        )
        self.use_button.clicked.connect(self.use)
        self.save_button = button(
            tr("forms.live_panel.save"), tip=tr("forms.live_panel.saves"), quiet=True
        )
        self.save_button.clicked.connect(self._save)
        ends = QWidget()
        below = column_in(ends)  # side by side they are wider than a small window
        for one in (self.use_button, self.save_button):
            below.addWidget(one, 0, Qt.AlignmentFlag.AlignLeft)
        self._ends = ends
        for part in (self.state, self.now, self.figures, ends):
            part.hide()
        add_all(
            column,
            self.input_box,
            self._channels,
            add_all(QHBoxLayout(), self.start_button, self.stop_button, self.again_button, 1),
            self._meter_rows(),
            self.state,
            self.now,
            self.figures,
            self.message,
            ends,
        )

    def _meter_rows(self) -> QWidget:
        self._meters_box = QWidget()
        grid = QGridLayout(self._meters_box)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setColumnStretch(1, 1)
        self.meters, self.levels = (LevelMeter(), LevelMeter()), (text_label(), text_label())
        words = tr("forms.live_panel.left"), tr("forms.live_panel.right")
        for place, (said, meter, level) in enumerate(
            zip(words, self.meters, self.levels, strict=True)
        ):
            level.setWordWrap(False)
            level.setMinimumWidth(level.fontMetrics().horizontalAdvance("−00.0 dB  "))
            meter.setAccessibleName(said)
            label = text_label(said)
            label.setWordWrap(False)
            grid.addWidget(label, place, 0)
            grid.addWidget(meter, place, 1)
            grid.addWidget(level, place, 2)
        self._meters_box.hide()
        return self._meters_box

    @property
    def is_listening(self) -> bool:
        """Whether an input is being recorded now."""
        return self._task is not None

    def tab_stops(self) -> list[QWidget]:
        """Return its widgets in tab order."""
        return [
            *(self.input_box, self.left_box, self.right_box, self.start_button, self.stop_button),
            *(self.again_button, self.use_button, self.save_button),
        ]

    @property
    def path(self) -> Path | None:
        """The file of the last recording; it is deleted with the panel."""
        return self._ended.path if self._ended is not None else None

    def list_inputs(self) -> None:
        """List the inputs, in a thread."""
        if self._listing is not None or self.is_listening:
            return

        def work(_go_on: GoOn) -> object:
            from core.recordings import sound_inputs  # first use

            try:
                return sound_inputs()
            except ToldProblem as problem:
                return problem

        self.message.say("")
        self._listing = BackgroundTask(work)
        self._listing.done.connect(self._show_inputs)
        self.destroyed.connect(self._listing.stop)
        self._listing.start()

    def start(self) -> None:
        """Start recording from the chosen input."""
        place = self.input_box.currentIndex()
        if self.is_listening or not 0 <= place < len(self._inputs):
            self.list_inputs()
            return
        chosen = self._inputs[place]
        left, right = self.left_box.currentIndex(), self.right_box.currentIndex()
        if chosen.channels <= _STEREO:
            left, right = 0, 1
        if Preferences.of_program is not None:
            Preferences.of_program.remember_sound_input(chosen.key, left, right)
        folder = tempfile.mkdtemp(prefix="setdown-")  # private to its owner
        self.destroyed.connect(partial(shutil.rmtree, folder, ignore_errors=True))
        name = tr("forms.live_panel.file", when=Name(f"{datetime.now():%Y-%m-%d %H-%M-%S}"))  # noqa: DTZ005 - the hour on the wall names the file
        path = Path(folder) / f"{name}.flac"
        self._told, self._ended, self._is_to_end = None, None, False
        self._has_shown = None
        self._lost = 0
        self.message.say("")
        played = self._played()
        self._task = BackgroundTask(
            lambda go_on: self._hear(go_on, chosen, (left, right), path, played)
        )
        self._task.done.connect(self._on_end)
        self.destroyed.connect(self._task.stop)
        self._show_buttons()
        self._task.start()
        self._tick.start()
        self._show_told()
        self.stop_button.setFocus()

    def end(self) -> None:
        """Stop recording and read what was recorded."""
        self._is_to_end = True

    def give_up(self) -> None:
        """Stop recording and drop the sound."""
        if self._task is not None:
            self._task.stop()
            self._task = None
            self._tick.stop()
            self._show_buttons()

    def use(self) -> None:
        """Emit the figures for use."""
        if self._ended is not None and self._ended.figures is not None:
            self.taken.emit(self._ended.figures)

    def hideEvent(self, event: QHideEvent) -> None:
        """Stop recording when the panel is hidden."""
        super().hideEvent(event)
        if not event.spontaneous():  # not when the whole window is minimised for a moment
            self.give_up()

    def _hear(
        self,
        go_on: GoOn,
        chosen: SoundInput,
        channels: tuple[int, int],
        path: Path,
        played: RecordPlayed | None,
    ) -> LiveEnd:
        from core.recordings import Capture  # first use

        problem: ToldProblem | None = None
        try:
            with (
                Capture(chosen, *channels) as capture,
                closing(
                    LiveTones(self._wanted, path, capture.rate, capture.channels, played)
                ) as reading,
            ):
                while go_on() and not self._is_to_end and not self._has_enough():
                    block = capture.take()
                    self._lost = capture.lost_blocks
                    if block.size:
                        self._told = reading.feed(block)
        except ToldProblem as fault:
            problem = fault
        except (OSError, RuntimeError) as fault:  # the disk is full, or the file can't be created
            problem = ToldProblem(message("tones.live.not_kept", why=Name(str(fault))))
        if not go_on() or self._told is None or self._told.state is LiveState.WAITING:
            return LiveEnd(None, problem or ToldProblem(message("tones.live.no_tone_came")), None)
        figures, lacking = _read(self._wanted, path, played)
        if figures is not None and self._lost:
            figures = figures.with_sound_missing()
        return LiveEnd(figures, problem or lacking, path, self._lost)

    def _has_enough(self) -> bool:
        return self._told is not None and self._told.state is LiveState.ENOUGH

    def _show_inputs(self, found: object) -> None:
        if self._listing is not None:
            self._listing.stop()
            self._listing = None
        if isinstance(found, ToldProblem):
            self._inputs = ()
            self.input_box.clear()
            self._tell(found)
        elif isinstance(found, tuple):
            self._inputs = found
            self.input_box.clear()
            self.input_box.addItems([one.name for one in found])
            self._choose_remembered()
        self._show_buttons()
        (self.start_button if self._inputs else self.again_button).setFocus()

    def _choose_remembered(self) -> None:
        key, left, right = ("", 0, 1)
        if Preferences.of_program is not None:
            key, left, right = Preferences.of_program.sound_input
        place = next((i for i, one in enumerate(self._inputs) if one.key == key), 0)
        self.input_box.setCurrentIndex(place)
        self._show_channels()
        self.left_box.setCurrentIndex(max(0, min(left, self.left_box.count() - 1)))
        self.right_box.setCurrentIndex(max(0, min(right, self.right_box.count() - 1)))

    def _show_channels(self) -> None:
        place = self.input_box.currentIndex()
        is_one = 0 <= place < len(self._inputs)
        self.input_box.setToolTip(plain_tip(self._inputs[place].name) if is_one else "")
        count = self._inputs[place].channels if is_one else 0
        for standard, box in enumerate((self.left_box, self.right_box)):
            box.clear()
            box.addItems([str(one + 1) for one in range(count)])
            box.setCurrentIndex(min(standard, count - 1))
        set_shown(self._channels, shown=count > _STEREO)

    def _show_buttons(self) -> None:
        listening = self.is_listening
        for part in (self.input_box, self.again_button, self.left_box, self.right_box):
            part.setEnabled(not listening)
        self.start_button.setEnabled(bool(self._inputs))
        self.start_button.setVisible(not listening)
        self.stop_button.setVisible(listening)
        self._meters_box.setVisible(listening)
        ended = self._ended
        self.use_button.setVisible(ended is not None and ended.figures is not None)
        self.save_button.setVisible(ended is not None and ended.path is not None)
        self._ends.setVisible(not listening and ended is not None and ended.path is not None)
        if listening:
            self.figures.hide()
        QTimer.singleShot(_SHOWN_EVERY_MS, self, self._scroll_here)
        self.now.setVisible(listening or (ended is not None and ended.figures is not None))
        self.state.setVisible(listening)

    def _scroll_here(self) -> None:
        """Scroll the whole panel into view, if the page around it scrolls."""
        around = self.parentWidget()
        while around is not None:
            if isinstance(around, QScrollArea):
                around.ensureWidgetVisible(self, 0, 0)
                return
            around = around.parentWidget()

    def _show_told(self) -> None:
        told = self._told
        if told is None:
            self.state.setText(tr("forms.live_panel.opening"))
            self.now.setText("")
            return
        shows = told.state, len(told.now)
        if shows != self._has_shown:  # it has more words now
            self._has_shown = shows
            QTimer.singleShot(_SHOWN_EVERY_MS, self, self._scroll_here)
        for place, (meter, level) in enumerate(zip(self.meters, self.levels, strict=True)):
            meter.show_peaks(told.moment.peaks[place], told.held[place])
            held = Quantity(db_of(told.held[place]), "dB", 1)
            level.setText(self._numbers.value(held))
        self.state.setText(self._numbers.text(_state_of(told)))
        self.now.setText(" ".join(self._numbers.text(one) for one in told.now))
        said = (*_lost_said(self._lost), *(told.figures.told()[1:] if told.figures else ()))
        self.figures.setText(" ".join(self._numbers.text(one) for one in said))
        set_shown(self.figures, shown=bool(said))

    def _on_end(self, ended: object) -> None:
        if self._task is not None:
            self._task.stop()
            self._task = None
        self._tick.stop()
        if isinstance(ended, LiveEnd):
            self._ended = ended
            self._show_buttons()
            figures = ended.figures
            said = _told_of(figures, ended.lost)
            last = figures.told_last() if figures is not None else ()
            self.now.setText(" ".join(self._numbers.text(one) for one in last))
            self.figures.setText(" ".join(self._numbers.text(one) for one in said))
            set_shown(self.figures, shown=bool(said))
            if ended.problem is not None:
                self._tell(ended.problem)
            QTimer.singleShot(_SHOWN_EVERY_MS, self, self._scroll_here)
            (self.use_button if figures is not None else self.start_button).setFocus()

    def _tell(self, problem: ToldProblem) -> None:
        said = (self._numbers.text(one) for one in (problem.what, problem.todo))
        self.message.say(" ".join(said).strip())

    def _save(self) -> None:
        if self._ended is None or self._ended.path is None:
            return
        name, _ = QFileDialog.getSaveFileName(
            self, tr("forms.live_panel.save"), self._ended.path.name, "*.flac"
        )
        if not name:
            return
        try:
            place = Path(name)
            place.touch(mode=0o600)
            place.chmod(0o600)
            shutil.copyfile(self._ended.path, place)
        except OSError as fault:
            self._tell(ToldProblem(message("tones.live.not_kept", why=Name(str(fault.strerror)))))


def _read(
    wanted: type[HeardSound], path: Path, played: RecordPlayed | None
) -> tuple[HeardSound | None, ToldProblem | None]:
    """Return the figures of a file, or why there are none."""
    shares = wanted.read(path, played)
    try:
        while True:
            next(shares)
    except StopIteration as found:
        return found.value, None
    except ToldProblem as fault:
        return None, fault


def _lost_said(blocks: int) -> tuple[Message, ...]:
    """Return what lost blocks spoil; empty if none were lost."""
    return (message("tones.live.lost", count=blocks),) if blocks else ()


def _told_of(figures: HeardSound | None, lost: int) -> tuple[Message, ...]:
    """Return the figures in words; missing sound is mentioned once, with its amount."""
    told = figures.told() if figures is not None else ()
    rest = (one for one in told if not lost or one.values.get("fault") != "dropped")
    return (*_lost_said(lost), *rest)


def _state_of(told: LiveTold) -> Message:
    heard = Quantity(told.seconds, "s", 0)
    if told.is_nothing:
        return message("tones.live.nothing")
    if told.state is LiveState.WAITING:
        return message("tones.live.waiting")
    if told.state is LiveState.ENOUGH:
        return message("tones.live.enough", heard=heard)
    if told.still_s is not None:
        return message("tones.live.still", heard=heard, still=Quantity(told.still_s, "s", 0))
    lacks = told.figures.lacks() if told.figures is not None else None
    return (
        message("tones.live.lacks", heard=heard, lacks=lacks)
        if lacks is not None
        else message("tones.live.running", heard=heard)
    )
