"""Input of a reading: the way of reading, its form, and the button to save."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QRadioButton, QVBoxLayout, QWidget

from core.fitting import Journey, NextReading, Reading, Trial
from core.language import Message, Name, Numbers
from core.records import RecordPlayed, fields_of
from core.steps import Step, ways_of
from core.workflow import why_shut
from desktop.forms.draft_line import DraftLine
from desktop.forms.file_editor import FileEditor
from desktop.forms.form import Form
from desktop.widgets.caution_line import CautionLine
from desktop.widgets.keys import is_enter
from desktop.widgets.language import local_label, step_words, tr
from desktop.widgets.message_line import MessageLine
from desktop.widgets.panels import (
    add_all,
    add_layout,
    announce,
    button,
    framed,
    heading,
    set_shown,
    text_label,
)
from desktop.widgets.plain_text import plain_tip
from desktop.widgets.wrapping_buttons import WrappedRadio

_NO_BREAK: Final = "\u00a0"


class ReadingPanel(QWidget):
    """The ways of reading and their forms.

    Each form keeps its input while another way is shown.
    """

    draft_changed = Signal()
    """Something was typed, or another way was chosen."""
    kept = Signal(object)
    """The person saves this reading."""
    way_changed = Signal(str)
    line_moved = Signal()
    """Another line of the recipe is in hand."""
    choice_wanted = Signal()
    """The person goes to the choices of the step."""
    weighing_wanted = Signal()
    """The person goes to the weighing that opens the closed fields."""
    typed_into = Signal(str)
    """Something was typed into the form of this way."""

    def __init__(self, step: Step, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self._text = step_words(step.NAME)
        self._all_ways = ways_of(step)
        self._ways: tuple[str, ...] = ()
        self.way = self._way_before = ""
        self._instead = ("", "")
        """The way that was opened instead of another, and that other."""
        self._trials: tuple[Trial, ...] = ()
        self._journey: Journey | None = None
        self._asked: NextReading | None = None
        self._step = step.NAME
        self._forms: dict[str, Form] = {}
        self._touched: set[str] = set()
        self._last_typed: dict[str, Any] = {}
        self._last_form: Form | None = None
        self._ways_are_open = False
        self._words_are_folded = self._was_shut = False
        self._records: tuple[RecordPlayed, ...] = ()
        self._usual_record: RecordPlayed | None = None
        column = framed(self)
        self._ways_box = QVBoxLayout()
        self._ways_heading = heading("", 1.0)
        self.ways_button = button(
            tr("forms.reading_panel.other_ways"),
            tip=tr("forms.reading_panel.shows_every_way_of_reading"),
            quiet=True,
        )
        self.ways_button.clicked.connect(self._open_ways)
        row = add_all(QHBoxLayout(), (self._ways_heading, 1), self.ways_button)
        add_all(column, row, self._ways_box)
        self._group = QButtonGroup(self)
        self._group.idClicked.connect(self._on_way)
        self._closed = text_label("", "problem")
        self._named = text_label("", "question")
        self._named.hide()
        self.draft_line = DraftLine()
        self.weigh_button = button(
            tr("forms.reading_panel.weigh_first"), tip=tr("forms.reading_panel.goes_to_weighing")
        )
        self.weigh_button.clicked.connect(self.weighing_wanted)
        self.weigh_button.hide()
        weigh = add_all(QHBoxLayout(), self.weigh_button, 1)
        add_all(column, self._closed, weigh, self._named, self.draft_line)
        self._place = QVBoxLayout()
        add_layout(column, self._place)
        self._problem = MessageLine()
        column.addWidget(self._problem)
        self.keep_button = button(
            tr("forms.reading_panel.keep_reading"),
            keys="Ctrl+Return",
            tip=tr("forms.reading_panel.keeps_the_reading_in_the"),
            primary=True,
        )
        self.keep_button.clicked.connect(self.keep)
        self.all_button = button(
            tr("forms.reading_panel.all_done"),
            keys="Ctrl+D",
            tip=tr("forms.reading_panel.ticks_every_line"),
        )
        self.all_button.clicked.connect(self.keep_all_done)
        self.all_button.hide()
        add_layout(column, add_all(QHBoxLayout(), self.keep_button, self.all_button, 1))

    @property
    def form(self) -> Form | None:
        """The form on show."""
        return self._forms.get(self.way)

    def show_ways(self, ways: tuple[str, ...], trials: tuple[Trial, ...], journey: Journey) -> None:
        """Show the ways that suit; choose the last used, else the first."""
        self._journey, self._trials = journey, trials
        known = tuple(way for way in ways if way in self._all_ways)
        if known != self._ways:
            self._ways = known
            self._offer(known)
            for form in self._forms.values():
                self._order_tab_stops(form)
        if self.way not in known:
            readings = [trial.reading for trial in trials if trial.reading is not None]
            used = str(readings[-1].way) if readings else ""
            first = used if used in known else (known[0] if known else "")
            if first:
                self._choose(first)
                self._prefill(trials)
        set_shown(self, shown=bool(known))
        self._show_gate()

    @property
    def hears_sound(self) -> bool:
        """Whether the form on show reads sound."""
        return self.form is not None and any(
            editor.hears_sound for editor in self.form.findChildren(FileEditor)
        )

    def sound_to_keep(self) -> tuple[Path, str] | None:
        """Return the file and fingerprint of the sound to keep, or None."""
        editors = self.form.findChildren(FileEditor) if self.form is not None else []
        return next((one.sound_to_keep for one in editors if one.sound_to_keep), None)

    def offer_records(self, records: tuple[RecordPlayed, ...], usual: RecordPlayed | None) -> None:
        """List the test records that may have played, and the usual one."""
        self._records, self._usual_record = records, usual
        for form in self._forms.values():
            self._offer_records(form)

    def _offer_records(self, form: Form) -> None:
        for editor in form.findChildren(FileEditor):
            editor.offer_records(self._records, self._usual_record)

    def show_asked(self, asked: NextReading | None) -> None:
        """Set the form's choices to what the step asks for, unless something was typed."""
        is_new = asked != self._asked
        self._asked = asked
        self._take_up(is_new=is_new)
        self._preset()

    def _take_up(self, *, is_new: bool) -> None:
        """Open the form that comes with a request for its way, and close it afterwards.

        One that is asked for instead of the way on show opens once. It stays, unless that is taken
        back before it was used.
        """
        if self._touched or self.way not in self._ways:
            return
        asked = self._asked.way if self._asked is not None else ""
        if asked == self.way:
            return
        if asked in self._ways and self._all_ways[asked].COMES_WHEN_ASKED:
            self._way_before = self.way
            self._choose(asked)
        elif asked in self._ways and self._asked is not None and self._asked.instead and is_new:
            self._instead = (asked, self.way)
            self._choose(asked)
        elif is_new and self._instead[0] == self.way and not self._is_used:
            self._choose(self._instead[1])
        elif self._way_before in self._ways and self._all_ways[self.way].COMES_WHEN_ASKED:
            self._choose(self._way_before)
            self._way_before = ""

    @property
    def _is_used(self) -> bool:
        """Whether something was read the way on show."""
        return any(one.reading is not None and one.reading.way == self.way for one in self._trials)

    def _preset(self) -> None:
        form, asked = self.form, self._asked
        if form is None or asked is None or self._touched or asked.way not in ("", self.way):
            return
        form.preset(asked.values)

    def rest(self) -> None:
        """Mark no line: a move comes first."""
        form = self.form
        if form is not None and form.recipe is not None:
            form.recipe.rest()

    def hold(self, *, held: bool) -> None:
        """Let nobody follow the lines that lower the stylus, or let them again."""
        form = self.form
        if form is not None and form.recipe is not None:
            form.recipe.hold(held=held)

    @property
    def lowers_stylus(self) -> bool:
        """Whether the way on show has a line that lowers the stylus."""
        form = self.form
        return form is not None and form.recipe is not None and form.recipe.lowers_stylus

    def stop(self) -> Message | None:
        """Return why the stylus stays up, as a number tells that is typed here and refused."""
        if self.isHidden() or self.form is None or not self.lowers_stylus:
            return None
        return self.form.fields.stop()

    def fold_words(self, *, away: bool) -> None:
        """Show only the fields with labels, with the cautions named above them."""
        self._words_are_folded = away
        form = self.form
        if form is None or form.recipe is None:
            return
        form.recipe.fold_words(away=away)
        titles = dict.fromkeys(one.title() for one in form.recipe.cautions())
        self._named.setText("   ".join(one.replace(" ", _NO_BREAK) for one in titles))
        set_shown(self._named, shown=away and bool(titles))

    def cautions(self) -> list[CautionLine]:
        """Return the cautions of the visible lines."""
        form = self.form
        is_shown = form is not None and form.recipe is not None and not self.isHidden()
        return form.recipe.cautions() if form and form.recipe and is_shown else []

    def cautions_in_hand(self) -> list[tuple[QWidget, str]]:
        """Return what shows the cautions of the lines in hand, each with its short form."""
        form = self.form
        if form is None or form.recipe is None or self.isHidden():
            return []
        if self._words_are_folded:
            return [(self._named, one.named_alone()) for one in form.recipe.cautions_in_hand()]
        return [(one, one.named()) for one in form.recipe.cautions_in_hand()]

    def guard_is_off(self) -> bool:
        """Return whether the guard is off at this point of the work."""
        form = self.form
        is_shown = form is not None and form.recipe is not None and not self.isHidden()
        return bool(form and form.recipe and is_shown and form.recipe.guard_is_off())

    def line_in_hand(self) -> list[QWidget]:
        """Return the lines in hand."""
        form = self.form
        return form.recipe.in_hand() if form is not None and form.recipe is not None else []

    def is_at_rest(self) -> bool:
        """Return whether no line of the work is in hand."""
        form = self.form
        return form is not None and form.recipe is not None and not form.recipe.in_hand()

    def keep_all_done(self) -> None:
        """Tick every line of a checklist and save it."""
        form = self.form
        if form is not None and form.is_checklist and self._is_open():
            form.tick_all()
            self.keep()

    def choose(self, way: str) -> None:
        """Choose a way of reading."""
        if way in self._ways:
            self._choose(way)
            # They stay open while an arrow key may move on.
            self._ways_are_open = any(one.hasFocus() for one in self._group.buttons())
            self._fold_ways()
            self._preset()
            self._show_gate()
            self.draft_changed.emit()

    def draft(self) -> Reading | None:
        """Return the reading as typed so far, if it is valid and anything was typed.

        Ticks that confirm an act are taken for given until it is their turn.
        """
        form = self.form
        if form is None or self.way not in self._touched or not self._is_open():
            return None
        made = form.draft()
        if not isinstance(made, Reading):
            return None
        if not made.CONFIRMS or form.recipe is None:
            return made
        seen = form.recipe.was_visited
        ahead = [name for name, tick in made if isinstance(tick, bool) and not seen(name)]
        return made.model_copy(update=dict.fromkeys(ahead, True))

    def typed(self) -> dict[str, Any]:
        """Return the content of the chosen way's fields; empty without a form.

        A number that is only half typed leaves the one before; one that is refused leaves none.
        None stands for an amount whose direction is not chosen yet.
        """
        if self.form is None:
            return {}
        fields = self.form.fields
        before = self._last_typed if self._last_form is self.form else {}
        kept = {name: one for name, one in before.items() if fields.is_half_typed(name)}
        open_ways = {name: None for name in fields.made if fields.awaits_direction(name)}
        self._last_typed, self._last_form = kept | open_ways | fields.typed(), self.form
        return dict(self._last_typed)

    def has_unsaved(self) -> bool:
        """Whether any way's form holds unsaved input; none that was deleted again."""
        return any(self.typed_raw(way) is not None for way in self._touched)

    @property
    def holds_draft(self) -> bool:
        """Whether a draft came back in the form on show, and nothing was typed since."""
        return self.form is not None and self.form.holds_draft

    def typed_raw(self, way: str) -> dict[str, Any] | None:
        """Return the content of a way's form, right or wrong; None if untouched."""
        form = self._forms.get(way)
        return form.typed_raw() if form is not None and way in self._touched else None

    def type_again(self, way: str, raw: Mapping[str, Any]) -> bool:
        """Choose a way and restore a draft in its form; False if it isn't offered."""
        if way not in self._ways:
            return False
        self._choose(way)
        if self.form is not None:
            self.form.type_again(raw)
        self._touched.add(way)
        self._show_gate()
        self.draft_changed.emit()
        return True

    def clear_typed(self, trials: tuple[Trial, ...]) -> None:
        """Reset the chosen way's form to its state before any input."""
        if self.form is not None:
            self.form.put(None)
            self._prefill(trials)
        self._touched.discard(self.way)
        self._problem.say("")
        self._preset()
        self.draft_changed.emit()

    def say_unsaved(self) -> None:
        """Say that what is typed stands in the way of going on."""
        self._problem.say(tr("forms.reading_panel.save_it_first"))
        announce(self.keep_button, self._problem.text())

    def keep(self) -> None:
        """Ask for the reading to be saved, or show its problems."""
        if self.form is not None and self._is_open():
            self.form.submit()

    def settle(self) -> None:
        """Prepare for the next reading after this one was saved."""
        if self.form is not None:
            self.form.settle()
        self._touched.discard(self.way)
        self._problem.say("")
        self._take_up(is_new=True)
        self._preset()

    def start(self) -> None:
        """Focus the form's first field, or the ways when the form is closed."""
        if self.form is not None and self._is_open() and self.form.tab_stops():
            self.form.start()
            return
        shut = not self.weigh_button.isHidden()
        (self.weigh_button if shut else self.ways_button).setFocus(Qt.FocusReason.OtherFocusReason)

    def start_typing(self) -> bool:
        """Focus the field for the next reading; return whether there is one."""
        if self.isHidden() or self.form is None or not self._is_open():
            return False
        self.form.start_at_blank()
        return True

    def type_on(self, text: str) -> bool:
        """Type a text into the next empty number that waits; return whether there is one.

        While the form is closed, say that nothing was taken.
        """
        if self.isHidden() or self.form is None:
            return False
        if not self._is_open():
            self._problem.say(tr("forms.reading_panel.not_taken"))
            self.start()
            return True
        return self.form.type_on(text)

    def is_open(self, way: str) -> bool:
        """Return whether a reading of this way can be typed now."""
        if self.isHidden() or way not in self._ways:
            return False
        return self._journey is None or not why_shut(self._journey, self._step, way)

    def can_take(self, way: str) -> bool:
        """Return whether a way's form can take a figure: it holds no input yet."""
        return self.is_open(way) and way not in self._touched

    def take(self, way: str, name: str, text: str) -> None:
        """Type a text into a field of a way, and go on as with Enter."""
        if self.way != way:
            self.choose(way)
        if self.form is not None:
            self.form.take(name, text)

    def shut(self) -> Message | None:
        """Return why the chosen way is closed, or None if it is open or there is no form."""
        if self.isHidden() or self._journey is None or not self.way:
            return None
        return why_shut(self._journey, self._step, self.way)

    def closed_reason(self) -> str:
        """Return why the chosen way is closed, or an empty string."""
        return self._closed.text()

    def say_reason(self, *, here: bool) -> None:
        """Say in the panel why the form is closed, or leave it to the page's headline."""
        set_shown(self._closed, shown=here and bool(self._closed.text()))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Go on to the form with Enter on a way."""
        if is_enter(event) and isinstance(watched, QRadioButton):
            self.choose(str(watched.property("way")))
            if not self.start_typing():
                self.start()
            self._ways_are_open = False
            self._fold_ways()
            return True
        return super().eventFilter(watched, event)

    def _offer(self, ways: tuple[str, ...]) -> None:
        for old in self._group.buttons():
            self._group.removeButton(old)
            old.hide()
            old.deleteLater()
        for place, way in enumerate(ways):
            one = WrappedRadio(local_label(self._all_ways[way].WAY_TITLE))
            one.setProperty("way", way)
            one.installEventFilter(self)
            self._group.addButton(one, place)
            self._ways_box.addWidget(one)
        self._fold_ways()

    def _open_ways(self) -> None:
        self._ways_are_open = True
        self._fold_ways()
        chosen = self._group.checkedButton()
        if chosen is not None:
            chosen.setFocus(Qt.FocusReason.OtherFocusReason)

    def _fold_ways(self) -> None:
        """Show only the chosen way, or all ways."""
        several = len(self._ways) > 1
        folded = not (several and self._ways_are_open)
        title = self._all_ways[self.way].WAY_TITLE if self.way else ""
        self._ways_heading.setText(
            local_label(title) if folded else tr("forms.reading_panel.way_of_reading")
        )
        self.ways_button.setVisible(several and folded)
        for one in self._group.buttons():
            one.setVisible(not folded)

    def _on_way(self, place: int) -> None:
        self.choose(self._ways[place])

    def _choose(self, way: str) -> None:
        if self.form is not None:
            self.form.hide()
        self.way = way
        chosen = self._group.button(self._ways.index(way))
        chosen.setChecked(True)
        self._fold_ways()
        form = self._forms.get(way)
        is_new = form is None
        if form is None:
            model = self._all_ways[way]
            fields = tuple(spec.name for spec in fields_of(model))
            units = model.units_on(self._journey.deck) if self._journey is not None else {}
            form = Form(model, self._numbers, lines=self._text.lines_of(way, fields), units=units)
            form.draft_changed.connect(lambda: self._on_typed(way))
            form.submitted.connect(self._on_submit)
            form.refused.connect(self._on_refused)
            if form.recipe is not None:
                form.recipe.moved.connect(self.line_moved)
                form.recipe.choice_wanted.connect(self.choice_wanted)
            form.forget_typing()
            self._forms[way] = form
            self._offer_records(form)
            self._place.addWidget(form)
            self._order_tab_stops(form)
        if self.isVisible() or not is_new:  # otherwise it is shown with the page and laid out once
            form.show()
        self._problem.say("")
        self.all_button.setVisible(form.is_checklist)
        self.fold_words(away=self._words_are_folded)
        self.way_changed.emit(way)

    def _order_tab_stops(self, form: Form) -> None:
        """Set the tab order: ways, fields and button from top to bottom."""
        ways = self._group.buttons()
        for before, after in pairwise(
            (
                self.ways_button,
                *ways,
                self.weigh_button,
                *self.draft_line.buttons,
                *form.tab_stops(),
                self.keep_button,
                self.all_button,
            )
        ):
            QWidget.setTabOrder(before, after)

    def _prefill(self, trials: tuple[Trial, ...]) -> None:
        """Copy values that stay the same from the last reading."""
        form = self.form
        last: Any = next(
            (
                trial.reading
                for trial in reversed(trials)
                if trial.reading is not None and trial.reading.way == self.way
            ),
            None,
        )
        if form is not None and last is not None:
            form.put(last.as_pattern())
            form.settle()

    def _is_open(self) -> bool:
        return self._journey is None or not why_shut(self._journey, self._step, self.way)

    def _show_gate(self) -> None:
        reason = why_shut(self._journey, self._step, self.way) if self._journey else None
        self._closed.setText(f"⊘ {self._numbers.text(reason)}" if reason else "")
        self._closed.setVisible(bool(reason))
        set_shown(self.weigh_button, shown=bool(reason))
        if not reason and self._was_shut:
            self._problem.say("")
        self._was_shut = bool(reason)
        if self.form is not None:
            self.form.setEnabled(not reason)
        self.keep_button.setEnabled(not reason)
        self.all_button.setEnabled(not reason)
        for one in self._group.buttons():
            if not isinstance(one, WrappedRadio):
                continue
            way = str(one.property("way"))
            shut = why_shut(self._journey, self._step, way) if self._journey else None
            one.setToolTip(plain_tip(self._numbers.text(shut or "")))
            title = local_label(self._all_ways[way].WAY_TITLE)
            one.say(f"{title} ⊘" if shut else title)
            not_yet = tr("forms.reading_panel.not_yet_the_stylus_stays") if shut else ""
            one.setAccessibleName(
                tr(
                    "forms.reading_panel.way_of_reading_title_not",
                    title=Name(title),
                    not_yet=Name(not_yet),
                )
            )

    def _on_typed(self, way: str) -> None:
        self._touched.add(way)
        self.typed_into.emit(way)
        if way == self.way:
            self._problem.say("")
            self.draft_changed.emit()

    def _on_submit(self) -> None:
        form = self.form
        made = form.draft() if form is not None else None
        if isinstance(made, Reading) and self._is_open():
            self.kept.emit(made)

    def _on_refused(self, sentence: str) -> None:
        """Name what is wrong at its field alone; a screen reader hears it from here."""
        self._problem.say(tr("forms.reading_panel.not_kept_yet"))
        announce(self.keep_button, sentence)
