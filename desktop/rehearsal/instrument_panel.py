"""The simulated instrument beside a step's form."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QWidget

from core.language import Numbers
from core.practice.grooves import NULLS_MM
from core.practice.instrument_display import InstrumentDisplay
from core.practice.rehearsal import Rehearsal
from core.practice.saved_rehearsals import CHOSEN, choices_from
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.speed import NAME as SPEED
from core.steps.speed import speed_name
from desktop.charts.instrument_view import InstrumentView, moves_allowed
from desktop.forms.field_editors import FieldEditor
from desktop.forms.reading_panel import ReadingPanel
from desktop.tasks.fitting_controller import FittingController
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
        self.setVisible(not self._reading.isHidden())
        closed = self._reading.closed_reason()
        chosen, missing = self._choices(step, way)
        self._looked_at = (way, closed, missing, tuple(sorted(chosen.items())))
        if closed:
            self._show_nothing("The stylus stays up, so there is nothing to look at yet.")
        elif missing:
            self._show_nothing(f"First fill in “{missing}”: the instrument is set up by it.")
        elif way not in self._rehearsal.ways(step):
            self._show_nothing("The practice bench has no instrument for this way of reading.")
        else:
            self._show_look(step, way, chosen)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Look when the page comes into view, if anything has changed since."""
        if event.type() == QEvent.Type.Show and watched is self._page and self._looked_at is None:
            self._timer.start()
        return super().eventFilter(watched, event)

    def _make(self) -> None:
        column = framed(self)
        self.title = heading("On the bench")
        self.view = InstrumentView()
        self._note = text_label("", "muted")
        self._nothing = text_label("", "question")
        self.again_button = button(
            "&Look again", keys="Ctrl+L", tip="Another look, with an error of its own"
        )
        self.again_button.clicked.connect(self._look_again)
        self.film_button = button("&Watch it", tip="Shows the bars as they drift, slowly")
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
            self._show_nothing("As the deck stands now this can't be read: move it nearer first.")
            return
        self._show(shown, chosen.get("drawn_pivot_mm"))

    def _show(self, shown: InstrumentDisplay, drawn_for_mm: float | None) -> None:
        self.shown = shown
        drawing = shown.drawn(self._numbers)
        self.title.setText(f"On the bench: {drawing.title}")
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
        self.title.setText("On the bench")
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
        entries: dict[str, FieldEditor] = form.fields.entries if form is not None else {}
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
            chosen |= self._drawn_for()
        return chosen, ""

    def _drawn_for(self) -> dict[str, float]:
        """Return the pivot distance the protractor is drawn for."""
        assessment = self._controller.journey.status(self._step).assessment
        reach, beyond = assessment.figure("wanted_length"), assessment.figure("wanted_overhang")
        if reach is None or beyond is None:
            return {}
        return {"drawn_pivot_mm": reach.value - beyond.value}


def _note_of(
    shown: InstrumentDisplay, note: str, drawn_for_mm: float | None, numbers: Numbers
) -> str:
    values, said = shown.values, [note]
    if "landing_mm" in values or "inner_deg" in values:
        # The practice bench has one protractor; only its pivot distance is drawn as wanted.
        inner, outer = numbers.unit(60.325, "mm", 3), numbers.unit(146.05, "mm", 2)
        said.append(f"Drawn by Löfgren A for grooves from {inner} to {outer}.")
    if "inner_deg" in values:
        grids = " and ".join(numbers.unit(radius, "mm", 1) for radius in NULLS_MM)
        said.append(f"The grids lie at {grids}.")
    if "landing_mm" in values and drawn_for_mm is not None:
        said.append(f"Pivot to spindle as drawn: {numbers.unit(drawn_for_mm, 'mm', 1)}.")
    if shown.step == SPEED:
        speed = numbers.text(speed_name(values["speed_rpm"]))
        warm = "still cold" if "minutes_running" in values else "warm"
        said.append(f"Set to {speed} rpm; the motor is {warm}.")
    return " ".join(part for part in said if part)


def _areas_around(widget: QWidget) -> list[QScrollArea]:
    found: list[QScrollArea] = []
    around = widget.parentWidget()
    while around is not None:
        if isinstance(around, QScrollArea):
            found.append(around)
        around = around.parentWidget()
    return found
