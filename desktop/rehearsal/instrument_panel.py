"""The simulated instrument beside a step's form."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QWidget

from core.language import Name, Numbers, Series, ToldProblem, message
from core.practice import NULLS_MM, InstrumentDisplay, Rehearsal
from core.practice.saved_rehearsals import CHOSEN, choices_from, drawn_for
from core.records import RecordPlayed
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.speed import NAME as SPEED
from core.steps.speed import speed_name
from desktop.charts.instrument_view import InstrumentView, moves_allowed
from desktop.forms.field_editors import FieldEditor
from desktop.forms.file_editor import FileEditor
from desktop.forms.made_sound import WriteRecording
from desktop.forms.reading_panel import ReadingPanel
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets.language import tr
from desktop.widgets.panels import add_all, button, framed, heading, text_label


class InstrumentPanel(QWidget):
    """What the practice bench shows for the way of reading that is chosen.

    It never fills anything in. It follows at once what the form says of the set-up, such as how a
    level lies; every look has its own random error.
    """

    looked = Signal()
    """There is something new to read."""

    def __init__(
        self,
        rehearsal: Rehearsal,
        controller: FittingController,
        step: str,
        reading: ReadingPanel,
        page: QWidget,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._rehearsal, self._controller, self._numbers = rehearsal, controller, controller.numbers
        self._step, self._reading, self._page = step, reading, page
        self.shown: InstrumentDisplay | None = None
        self._looked_at: tuple[object, ...] | None = None
        self._timer = QTimer(self, singleShot=True, interval=0)
        self._timer.timeout.connect(self.look)
        self._make()
        page.installEventFilter(self)
        reading.way_changed.connect(lambda _way: self.look_soon())
        reading.draft_changed.connect(self._follow)

    def look_soon(self) -> None:
        """Look in the next turn of the event loop: something was moved, saved or chosen."""
        self._looked_at = None
        if self._page.isVisible():
            self._timer.start()

    def look(self) -> None:
        """Look at the instrument once more."""
        step, way = self._step, self._reading.way
        self._offer_recording(way)
        self.setVisible(not self._reading.isHidden())
        closed = self._reading.closed_reason()
        chosen, missing = self._choices(step, way)
        self._looked_at = (way, closed, missing, tuple(sorted(chosen.items())))
        if closed:
            self._show_nothing(tr("rehearsal.instrument_panel.the_stylus_stays_up_so"))
        elif missing:
            self._show_nothing(
                tr("rehearsal.instrument_panel.first_fill_in_missing_the", missing=Name(missing))
            )
        elif way not in self._rehearsal.ways(step):
            self._show_nothing(tr("rehearsal.instrument_panel.the_practice_bench_has_no"))
        else:
            self._show_look(step, way, chosen)

    def _offer_recording(self, way: str) -> None:
        """Offer a recording of the deck in the form on show, where it reads one."""
        form = self._reading.form
        if form is None or not self._rehearsal.can_record(self._step, way):
            return
        for editor in form.findChildren(FileEditor):
            editor.offer_recording(partial(self._record, way))

    def _record(self, way: str, played: RecordPlayed | None) -> WriteRecording:
        """Return what writes a recording of the deck as it stands now; raises ToldProblem."""
        chosen, missing = self._choices(self._step, way)
        if missing:
            raise ToldProblem(
                message(
                    "rehearsal.instrument_panel.first_fill_in_missing_the", missing=Name(missing)
                )
            )
        record = played.record if played is not None else None
        return self._rehearsal.recording(way, record, **chosen).write

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Look when the page comes into view, if anything has changed since."""
        if event.type() == QEvent.Type.Show and watched is self._page and self._looked_at is None:
            self._timer.start()
        return super().eventFilter(watched, event)

    def _make(self) -> None:
        column = framed(self)
        self.title = heading(tr("rehearsal.instrument_panel.on_the_bench"))
        self.view = InstrumentView()
        self._note = text_label("", "muted")
        self._nothing = text_label("", "question")
        self.again_button = button(
            tr("rehearsal.instrument_panel.look_again"),
            keys="Ctrl+L",
            tip=tr("rehearsal.instrument_panel.another_look_with_an_error"),
        )
        self.again_button.clicked.connect(self._look_again)
        self.film_button = button(
            tr("rehearsal.instrument_panel.watch_it"),
            tip=tr("rehearsal.instrument_panel.shows_the_bars_as_they"),
        )
        self.film_button.clicked.connect(self._watch)
        row = add_all(QHBoxLayout(), self.again_button, self.film_button, 1)
        add_all(column, self.title, self.view, self._nothing, self._note, row)
        keys = QShortcut(QKeySequence("Ctrl+L"), self._page)
        keys.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        keys.activated.connect(self._look_again)

    def _show_look(self, step: str, way: str, chosen: dict[str, Any]) -> None:
        try:
            shown = self._rehearsal.instrument(step, way, **chosen)
        except ValueError:  # no such reading can be taken where the arm stands
            self._show_nothing(tr("rehearsal.instrument_panel.as_the_deck_stands_now"))
            return
        self._show(shown, chosen.get("drawn_pivot_mm"))

    def _show(self, shown: InstrumentDisplay, drawn_for_mm: float | None) -> None:
        self.shown = shown
        drawing = shown.drawn(self._numbers)
        self.title.setText(
            tr("rehearsal.instrument_panel.on_the_bench_drawing", drawing=Name(drawing.title))
        )
        self.view.show_drawing(drawing)
        self.view.show()
        self._note.setText(_note_of(shown, drawing.note, drawn_for_mm, self._numbers))
        self._note.setVisible(bool(self._note.text()))
        self._nothing.hide()
        self.again_button.setEnabled(True)
        self.film_button.setVisible(drawing.film is not None and moves_allowed(self))
        if _areas_around(self) != _areas_around(self._reading):
            self._bring_into_view()  # beside the form; in one column the form would go out of view
        self.looked.emit()

    def _show_nothing(self, sentence: str) -> None:
        self.shown = None
        self.title.setText(tr("rehearsal.instrument_panel.on_the_bench"))
        self.view.show_drawing(None)
        self.view.hide()
        self._note.hide()
        self._nothing.setText(sentence)
        self._nothing.show()
        self.again_button.setEnabled(False)
        self.film_button.hide()
        self.looked.emit()

    def _look_again(self) -> None:
        """Look once more, and have the instrument in view."""
        self.look()
        self._bring_into_view()

    def _bring_into_view(self) -> None:
        for area in _areas_around(self):
            area.ensureWidgetVisible(self.again_button)
            area.ensureWidgetVisible(self.view)

    def _watch(self) -> None:
        if self.view.is_playing:
            self.view.stop()
        else:
            self.view.play()

    def _follow(self) -> None:
        """Look again if the form now says that the instrument is set up otherwise."""
        step, way = self._step, self._reading.way
        chosen, missing = self._choices(step, way)
        closed = self._reading.closed_reason()
        if (way, closed, missing, tuple(sorted(chosen.items()))) != self._looked_at:
            self.look_soon()

    def _choices(self, step: str, way: str) -> tuple[dict[str, Any], str]:
        """Return what the form says of the set-up, and the label of the first field it lacks."""
        form = self._reading.form
        entries: Mapping[str, FieldEditor] = form.fields.entries if form is not None else {}
        fields: dict[str, Any] = {}
        for name in CHOSEN.get((step, way), ()):
            entry = entries.get(name)
            answer = entry.answer() if entry is not None else None
            if entry is None or answer is None:
                continue
            hidden = entry.isHidden()
            if answer.problems and not hidden:
                return {}, entry.spec.label
            if answer.given and not hidden:
                fields[name] = answer.value
        chosen = choices_from(self._rehearsal, step, way, fields)
        if step == ALIGNMENT:
            chosen |= drawn_for(self._controller.journey)
        return chosen, ""


def _note_of(
    shown: InstrumentDisplay, note: str, drawn_for_mm: float | None, numbers: Numbers
) -> str:
    values, said = shown.values, [note]
    if "landing_mm" in values or "inner_deg" in values:
        # The practice bench has one protractor; only its pivot distance is drawn as wanted.
        inner, outer = numbers.unit(60.325, "mm", 3), numbers.unit(146.05, "mm", 2)
        said.append(
            tr(
                "rehearsal.instrument_panel.drawn_by_l_fgren_a",
                inner=Name(inner),
                outer=Name(outer),
            )
        )
    if "inner_deg" in values:
        grids = Series(tuple(Name(numbers.unit(radius, "mm", 1)) for radius in NULLS_MM))
        said.append(tr("rehearsal.instrument_panel.the_grids_lie_at_grids", grids=grids))
    if "landing_mm" in values and drawn_for_mm is not None:
        said.append(
            tr(
                "rehearsal.instrument_panel.pivot_to_spindle_as_drawn",
                drawn_for_mm=Name(numbers.unit(drawn_for_mm, "mm", 1)),
            )
        )
    if shown.step == SPEED:
        said.append(
            tr(
                "rehearsal.instrument_panel.set_to_speed_rpm_the",
                motor="cold" if "minutes_running" in values else "warm",
                speed=speed_name(values["speed_rpm"]),
            )
        )
    return " ".join(part for part in said if part)


def _areas_around(widget: QWidget) -> list[QScrollArea]:
    found: list[QScrollArea] = []
    around = widget.parentWidget()
    while around is not None:
        if isinstance(around, QScrollArea):
            found.append(around)
        around = around.parentWidget()
    return found
