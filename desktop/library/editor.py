"""The page that adds or corrects a record; a job's page goes on from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from core.language import Name, Numbers, Text, message
from core.records import (
    AnyRecord,
    Cartridge,
    CutRecord,
    Deck,
    FieldKind,
    Headshell,
    Job,
    fields_of,
    name_of,
)
from core.store import Library, LibraryProblem, ProblemKind, RecordRow, Stored
from core.workflow import much_like
from desktop.forms.arms_editor import ArmsEditor
from desktop.forms.draft_line import DraftLine
from desktop.forms.fold import Fold
from desktop.forms.follow_pivot import FollowPivot
from desktop.forms.form import Form
from desktop.forms.form_draft import FormDraft
from desktop.forms.model_fields import GroupEditor
from desktop.library.changed_elsewhere import ChangedElsewhere
from desktop.library.essentials import details_of, fold_details, wait_with_problems
from desktop.library.form_area import FormArea
from desktop.library.two_versions import made_words
from desktop.tasks.deferred_build import DeferredBuild
from desktop.widgets import theme
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.focus_moves import follow_focus
from desktop.widgets.keys import is_enter
from desktop.widgets.language import local_label, said, tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, add_layout, button, let_go, may_be_narrow, set_shown
from desktop.widgets.plain_text import breakable, one_line, plain_label

_MOST_ALIKE: Final = 100
"""How many that are on file are offered to begin from, the latest first."""
_OWN_WORDS: Final = ("name", "owner_reference", "notes")
_WITH_PICTURES: Final = ("deck", "cartridge", "job")
_ENOUGH_AT_ONCE: Final = 12
"""From so many fields on, a turn of the window's loop makes no further group."""
_CHANGED_FOR_MS: Final = 150
"""Milliseconds without typing before the list of sections is updated."""


@dataclass(frozen=True, slots=True)
class RecordKind:
    """What the editor must know of one kind of record."""

    noun: str  # deck, cartridge, headshell, test record or job
    model: type[AnyRecord]  # its model
    first_section: Text  # name of the section that holds the fields outside any group
    hint: Text  # said over an empty form


DECK: Final = RecordKind(
    "deck",
    Deck,
    message("library.editor.name_and_notes"),
    message("library.editor.every_field_says_what_to"),
)
CARTRIDGE: Final = RecordKind(
    "cartridge",
    Cartridge,
    message("library.editor.cartridge"),
    message("library.editor.every_field_says_what_to_2"),
)
HEADSHELL: Final = RecordKind(
    "headshell",
    Headshell,
    message("library.editor.headshell"),
    message("library.editor.headshell_hint"),
)
TEST_RECORD: Final = RecordKind(
    "test record",
    CutRecord,
    message("library.editor.test_record"),
    message("library.editor.test_record_hint"),
)
JOB: Final = RecordKind("job", Job, message("jobs.page.section"), message("jobs.page.hint"))
RECORD_KINDS: Final = {
    record_kind.noun: record_kind for record_kind in (DECK, CARTRIDGE, HEADSHELL, TEST_RECORD)
}


class _Leaving(Enum):
    """How the question about unsaved changes ended."""

    STAYS = "stays"
    LEAVES = "leaves"
    SAVED = "saved"


class RecordEditor(Page):
    """A form in sections, with what is wrong said at the field."""

    escape_leaves = True
    kept = Signal(str)  # the id of what was saved
    pictures_wanted = Signal(str, str)  # sort and id of what pictures are to be seen of

    def __init__(
        self,
        record_kind: RecordKind,
        library: Library,
        record_id: str = "",
        *,
        copies: bool = False,
        who: str = "",
        numbers: Numbers,
        messages: Messages,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.record_kind = record_kind
        self._library = library
        self._messages = messages
        self._who = who
        self._numbers = numbers
        self._record_id = "" if copies else record_id
        try:
            self._begun, self._revision = self._thing(record_id, copies=copies)
        except LibraryProblem:
            self.deleteLater()  # its parent would keep it
            raise
        thing = self._begun
        # Each is made inside its parent: Qt styles all that a widget holds again when it moves.
        self.stack = QStackedWidget(self)
        self._typing = QWidget(self.stack)
        self.area = FormArea(self._typing)
        fold = Fold(details_of)
        shows_all = bool(self._record_id) or record_kind is JOB
        fold.away = not shows_all
        self.form = Form(
            record_kind.model,
            numbers,
            thing,
            fold=fold,
            makes_later=True,
            parent=self.area.viewport(),
        )
        self.form.resize(self.area.size())  # else Qt measures every field now
        self.form.keep_to_top()
        self.area.setWidget(self.form)
        wait_with_problems(self.form)
        self._pivot: FollowPivot | None = None
        self.comparison: ChangedElsewhere | None = None
        self._build(
            _title(record_kind.noun, thing, self._revision, copies=copies), is_new=thing is None
        )
        self._used_arms = (
            library.log.arms_in_use(self._record_id) if self._record_id else frozenset()
        )
        self._later = DeferredBuild(self)
        self.everything.setChecked(shows_all)
        self._fold()
        self._blank = thing
        self._copied = record_id if copies else ""
        for name in self.form.fields.made:
            self._on_made(name)
        self.form.fields.field_made.connect(self._on_made)
        self._begin_form()

    def suggest_name(self, name: str) -> None:
        """Put a name into the form, as if typed; what was typed before goes on as it is."""
        if not self.has_changes:
            self.form.fields.entries["name"].put(name)

    def begin(self) -> None:
        """Put the cursor into the first field."""
        self.form.start()

    @property
    def has_changes(self) -> bool:
        """Whether anything stands in the fields that is not on file."""
        return self._fingerprint() != self._at_first

    def typed_raw(self) -> Mapping[str, Any] | None:
        """Return what was typed into the form, as JSON holds it, or None."""
        fields = self.form.typed_raw()
        if fields is None:
            return None
        shows_all = self.everything.isChecked()
        return {"fields": fields, "revision": self._revision, "everything": shows_all}

    def type_again(self, raw: Mapping[str, Any]) -> None:
        """Show what :meth:`typed_raw` has returned, over the revision that it was typed over."""
        fields, revision = raw.get("fields"), raw.get("revision")
        if not isinstance(fields, dict):
            return
        if self._record_id and isinstance(revision, int) and 0 < revision < self._revision:
            with suppress(LibraryProblem):  # then it is taken for typed over what is on file now
                older = self._library.records(self.record_kind.noun).get(self._record_id, revision)
                self._begun, self._revision = older.thing, older.revision
                self.form.put(older.thing)
                self._at_first = self._fingerprint()
                self._retitle()
        self.form.type_again(fields)
        self.everything.setChecked(self.everything.isChecked() or raw.get("everything") is True)
        self._fold()
        self._mark()
        self.look_again()

    def clear_typed(self) -> None:
        """Show the form as it stands before anybody has typed."""
        self.form.put(self._begun if self._record_id else self._blank)
        self._fold()
        self._at_first = self._fingerprint()
        self._mark()
        self.look_again()
        self.form.start()

    def save(self) -> bool:
        """Keep what is typed; return whether it was kept."""
        thing = self.form.draft()
        if thing is None:
            self._mark()
            self._show_first_problem()
            return False
        return self._keep_or_compare(thing)

    def subject(self) -> tuple[str, str] | None:
        """Return what the page is about, once it is on file."""
        has_pictures = self._record_id and self.record_kind.noun in _WITH_PICTURES
        return (self.record_kind.noun, self._record_id) if has_pictures else None

    def look_again(self) -> None:
        """Show the newer state if nothing is typed yet, else offer to look at both."""
        self._count_pictures()
        if not self._record_id or self.comparison is not None:
            return
        try:
            newest = self._on_file(self._record_id)
        except LibraryProblem:
            return  # saving it says so
        if newest.revision == self._revision:
            return
        made = Name(made_words(newest.revision, newest.at, newest.who))
        if self.has_changes:
            words = tr("library.changed_elsewhere.newer_while_typing", made=made)
        else:
            self._begun, self._revision = newest.thing, newest.revision
            self.form.put(newest.thing)
            self._at_first = self._fingerprint()
            self._retitle()
            self._mark()
            words = tr("library.changed_elsewhere.newer_shown", made=made)
        self.newer.setText(breakable(words))
        self.compare.setVisible(self.has_changes)
        self.notice.show()

    def show_both(self) -> None:
        """Look at what is typed beside what is on file now."""
        thing = self.form.draft()
        if thing is None:
            self._mark()
            self._show_first_problem()
        elif isinstance(thing, AnyRecord):
            self._compare(thing, self._begun)

    def may_leave(self) -> bool:
        """Ask what to do with unsaved changes, if there are any; return whether to leave."""
        return self._leaving() is not _Leaving.STAYS

    def leave(self) -> None:
        """Go back without saving, asked if something would be lost."""
        if self._leaving() is _Leaving.LEAVES:
            self.closed.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Go from what it is much like to the name with Enter."""
        if watched is self.much_like and is_enter(event):
            self.form.start()
            return True
        return super().eventFilter(watched, event)

    # construction

    def _build(self, title: str, *, is_new: bool) -> None:
        layout = QVBoxLayout(self)
        self.setAccessibleName(title)
        self.heading = plain_label(title, wraps=True)
        self.heading.setFont(theme.scaled(self.font(), 1.6, bold=True))
        layout.addWidget(self.heading)
        if is_new:
            hint = plain_label(said(self.record_kind.hint), wraps=True)
            hint.setProperty("kind", "muted")
            layout.addWidget(hint)
        self._build_sections()
        add_layout(layout, self._ways(is_new=is_new))
        self.problem = plain_label(wraps=True)
        self.problem.setObjectName("editorProblem")
        self.problem.setProperty("kind", "problem")
        save = QPushButton(tr("library.editor.save"))
        save.setObjectName("editorSave")
        save.setProperty("primary", "true")
        save.setAutoDefault(True)
        save.setAccessibleDescription(tr("library.editor.keeps_a_new_revision_what"))
        save.clicked.connect(self.save)
        cancel = QPushButton(tr("library.editor.cancel"))
        cancel.setObjectName("editorCancel")
        cancel.clicked.connect(self.leave)
        keys = QShortcut(QKeySequence.StandardKey.Save, self)
        keys.activated.connect(self.save)
        middle = add_all(QHBoxLayout(), self.sections, (self.area, 3))
        beside = self.beside()
        if beside is not None:
            middle.addWidget(beside, 2)
        self.pictures = button("", keys="Ctrl+I", tip=tr("library.tables.pictures_tip"))
        self.pictures.clicked.connect(
            lambda: self.pictures_wanted.emit(*(self.subject() or ("", "")))
        )
        bottom = add_all(QHBoxLayout(), self.pictures, (self.problem, 1), cancel, save)
        self.draft_line = DraftLine(self._typing)
        inside = add_all(
            QVBoxLayout(self._typing), self._newer_notice(), self.draft_line, (middle, 1), bottom
        )
        inside.setContentsMargins(0, 0, 0, 0)
        self._count_pictures()
        self.stack.addWidget(self._typing)
        layout.addWidget(self.stack, 1)
        self.form.submitted.connect(save.setFocus)
        self._listen()

    def beside(self) -> QWidget | None:
        """Make what stands beside the form; None if nothing does."""
        return None

    def _newer_notice(self) -> QWidget:
        self.notice = QWidget()
        self.newer = plain_label(wraps=True)
        self.newer.setObjectName("newerState")
        self.newer.setProperty("kind", "question")
        self.compare = QPushButton(tr("library.changed_elsewhere.compare"))
        self.compare.setObjectName("compareVersions")
        self.compare.clicked.connect(self.show_both)
        row = add_all(QHBoxLayout(self.notice), (self.newer, 1), self.compare)
        row.setContentsMargins(0, 0, 0, 0)
        self.notice.hide()
        return self.notice

    def _listen(self) -> None:
        self._timer = QTimer(self, singleShot=True, interval=_CHANGED_FOR_MS)
        self._timer.timeout.connect(self._mark)
        self.form.draft_changed.connect(self._timer.start)
        follow_focus(self._follow_focus)

    def _ways(self, *, is_new: bool) -> QHBoxLayout:
        """Make the row above the form: what the new one is much like, and the fold."""
        self.much_like = ElidedCombo()
        self.much_like.setObjectName("muchLike")
        may_be_narrow(self.much_like)
        label = QLabel(tr("library.editor.much_like"))
        label.setBuddy(self.much_like)
        self.everything = QCheckBox(tr("library.editor.every_field"))
        self.everything.setObjectName("everyField")
        self.everything.setAccessibleDescription(tr("library.editor.every_field_tip"))
        self.everything.toggled.connect(self._fold)
        row = QHBoxLayout()
        if self.record_kind is JOB:
            for unwanted in (self.much_like, label, self.everything):
                unwanted.setParent(self)
                unwanted.hide()
            return row
        if is_new:
            noun = Name(self.record_kind.noun)
            self.much_like.setAccessibleName(tr("library.editor.much_like_which", noun=noun))
            self.much_like.addItem(tr("library.editor.much_like_none"), "")
            for kept in self._like_what():
                self.much_like.addItem(kept.name, kept.id)
            self.much_like.activated.connect(self._take_much_like)
            self.much_like.installEventFilter(self)
            add_all(row, label, (self.much_like, 1))
        else:
            row.addStretch(1)
            self.much_like.setParent(self)
            self.much_like.hide()
            label.deleteLater()
        add_all(row, self.everything)
        return row

    def _like_what(self) -> tuple[RecordRow, ...]:
        try:
            rows = self._library.records(self.record_kind.noun).rows()
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return ()
        return rows[:_MOST_ALIKE]

    def _build_sections(self) -> None:
        groups = [
            spec
            for spec in fields_of(self.record_kind.model)
            if spec.kind in (FieldKind.GROUP, FieldKind.TABLE)
        ]
        # What matters only with something in a section belongs to it.
        beside = {
            spec.name: spec.when.field
            for spec in fields_of(self.record_kind.model)
            if spec.when is not None and spec.when.field in {group.name for group in groups}
        }
        elsewhere = {spec.name for spec in groups} | {*beside}
        plain = [s.name for s in fields_of(self.record_kind.model) if s.name not in elsewhere]
        self._sections: list[tuple[str, list[str]]] = [
            (said(self.record_kind.first_section), plain)
        ]
        self._sections += [
            (local_label(spec.label), [spec.name, *_with(spec.name, beside)]) for spec in groups
        ]
        self.sections = QListWidget()
        self.sections.setAccessibleName(
            tr("library.editor.sections_of_this_noun", noun=Name(self.record_kind.noun))
        )
        self.sections.setAccessibleDescription(tr("library.editor.enter_goes_to_the_sections"))
        for label, _names in self._sections:
            self.sections.addItem(QListWidgetItem(label))
        self.sections.setSpacing(3)
        self.sections.setCurrentRow(0)
        widest = max(self.fontMetrics().horizontalAdvance(label) for label, _ in self._sections)
        self.sections.setFixedWidth(widest + self.fontMetrics().averageCharWidth() * 14)
        if len(self._sections) == 1:
            self.sections.hide()
        self.sections.itemActivated.connect(lambda _item: self._go_to_section())
        self.sections.itemClicked.connect(lambda _item: self._go_to_section())
        self.sections.currentRowChanged.connect(self._show_section)
        self.area.verticalScrollBar().valueChanged.connect(lambda _at: self._follow_scroll())

    # behaviour

    def _begin_form(self) -> None:
        """Take what stands in the form as put there, and show again what was typed before."""
        self.form.forget_typing()
        self._at_first = self._fingerprint()
        self._mark()
        self.form_draft = FormDraft(
            self._library,
            self.record_kind.noun,
            self._record_id,
            self,
            self.draft_line,
            form=self._copied,
            who=self._who,
            parent=self,
        )
        self.form_draft.offer()
        self.form.draft_changed.connect(self.form_draft.note)

    def _count_pictures(self) -> None:
        """Say on the button how many pictures there are; a new record has none to be seen."""
        owner = self.subject()
        set_shown(self.pictures, shown=owner is not None)
        if owner is None:
            return
        try:
            count = self._library.pictures.count_of(*owner)
        except LibraryProblem:
            count = 0  # the page with the pictures says what is wrong
        self.pictures.setText(tr("library.editor.pictures", n=count, count=count))

    def _thing(self, record_id: str, *, copies: bool) -> tuple[AnyRecord | None, int]:
        if not record_id:
            return None, 0
        kept = self._on_file(record_id)
        thing = kept.thing
        if copies:
            longest = 120 - len(" (copy)")
            name = tr("library.editor.thing_copy", thing=Name(name_of(thing)[:longest]))
            return _much_like(thing, name), 0
        return thing, kept.revision

    def _take_much_like(self, _place: int) -> None:
        """Fill the form from another one; the name and the words typed so far stay."""
        record_id = str(self.much_like.currentData() or "")
        like: AnyRecord | None = None
        if record_id:
            try:
                like = self._on_file(record_id).thing
            except LibraryProblem as problem:
                tell_problem(self._messages, problem)
                return
        entries = self.form.fields.entries
        own = {name: entries[name].answer().value for name in _OWN_WORDS if name in entries}
        self.form.fields.put(None if like is None else _much_like(like, name_of(like)))
        for name, words in own.items():
            entries[name].put(words or "")
        if self._pivot is not None:
            self._pivot.begin_anew()
        self._fold()
        self._mark()
        self.form_draft.note()

    def _fold(self) -> None:
        """Show every field, or only those that everybody can fill in."""
        # Out of sight meanwhile: Qt lays out every page around a widget that is shown in sight,
        # once for each of them.
        focused = QApplication.focusWidget()
        self.form.hide()
        fold_details(self.form, away=not self.everything.isChecked())
        arms = self.form.fields.made.get("further_arms")
        if isinstance(arms, ArmsEditor):
            arms.mark_used(self._used_arms)
        self.form.show()
        if focused is not None and focused.isVisible() and self.form.isAncestorOf(focused):
            focused.setFocus(Qt.FocusReason.OtherFocusReason)
        shown = set(self.form.fields.shown_names())
        for row, (_label, names) in enumerate(self._sections):
            self.sections.item(row).setHidden(not shown.intersection(names))
        self._later.put_off([self._make_some])
        self.area.fit()

    def _on_made(self, name: str) -> None:
        """Have a part of the form, just made, do what is asked of it here."""
        part = self.form.fields.made[name]
        if isinstance(part, ArmsEditor):
            part.mark_used(self._used_arms)
        elif name == "arm" and isinstance(part, GroupEditor) and not self._record_id:
            self._pivot = FollowPivot(part.fields, self)

    def _make_some(self) -> None:
        """Make some of the groups in sight, and put off the others: nobody waits for all."""
        fields = self.form.fields
        before = len(fields.made_and_shown())
        for name in fields.names_to_make():
            if len(fields.made_and_shown()) - before >= _ENOUGH_AT_ONCE:
                self._later.put_off([self._make_some])
                break
            fields.make(name)
        self._mark()

    def _on_file(self, record_id: str) -> Stored[Any]:
        return self._library.records(self.record_kind.noun).get(record_id)

    def _keep_or_compare(
        self, thing: object, seen: int = 0, begun: AnyRecord | None = None
    ) -> bool:
        """Keep it; if another window was quicker, show both. Return whether it was kept."""
        try:
            with self._library.transaction():
                kept = self._keep(thing, seen or self._revision)
                self.form_draft.drop()
        except LibraryProblem as problem:
            is_newer = problem.kind is ProblemKind.CHANGED_ELSEWHERE
            if is_newer and isinstance(thing, AnyRecord):
                self._compare(thing, begun or self._begun)
            else:
                tell_problem(self._messages, problem)
            return False
        self.form_draft.forget()
        self._at_first = self._fingerprint()
        self.kept.emit(kept)
        return True

    def _compare(self, thing: AnyRecord, begun: AnyRecord | None) -> None:
        """Show what is typed beside the newest on file; what is typed stays in the form."""
        try:
            newest = self._on_file(self._record_id)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self._put_comparison_away()
        shown = ChangedElsewhere(thing, newest, begun, self._numbers, self._messages)
        shown.back_wanted.connect(self._back_to_form)
        shown.save_wanted.connect(
            lambda chosen: self._keep_or_compare(chosen, newest.revision, newest.thing)
        )
        self.comparison = shown
        self.stack.addWidget(shown)
        self.stack.setCurrentWidget(shown)
        shown.versions.begin()

    def _back_to_form(self) -> None:
        self._put_comparison_away()
        self.form.start()

    def _put_comparison_away(self) -> None:
        if self.comparison is not None:
            self.stack.setCurrentIndex(0)  # the form: its fields take the focus
            let_go(self.stack, self.comparison)
            self.comparison = None

    def _retitle(self) -> None:
        title = _title(self.record_kind.noun, self._begun, self._revision, copies=False)
        self.setAccessibleName(title)
        self.heading.setText(title)

    def _keep(self, thing: object, revision: int) -> str:
        known, seen = self._record_id or None, revision or None
        kept: Stored[Any]
        if isinstance(thing, Deck):
            kept = self._library.keep_deck(thing, id=known, who=self._who, based_on=seen)
        elif isinstance(thing, Cartridge):
            kept = self._library.keep_cartridge(thing, id=known, who=self._who, based_on=seen)
        elif isinstance(thing, Headshell):
            kept = self._library.keep_headshell(thing, id=known, who=self._who, based_on=seen)
        elif isinstance(thing, CutRecord):
            kept = self._library.keep_test_record(thing, id=known, who=self._who, based_on=seen)
        else:
            raise TypeError(f"the form of a {self.record_kind.noun} made {type(thing).__name__}")
        return kept.id

    def _leaving(self) -> _Leaving:
        if not self.has_changes:
            return _Leaving.LEAVES
        answer = self._messages.ask(
            tr("library.editor.unsaved_noun", noun=Name(self.record_kind.noun)),
            tr("library.editor.what_you_typed_for_this", noun=Name(self.record_kind.noun)),
            [tr("library.editor.save_it"), tr("library.editor.leave_without_saving")],
        )
        if answer == 0 and self.save():
            return _Leaving.SAVED
        if answer != 1:
            return _Leaving.STAYS
        self.form_draft.throw_away()
        return _Leaving.LEAVES

    def _fingerprint(self) -> tuple[object, ...]:
        return (self.form.fields.raw(),)  # what lies behind the fold as well

    def _mark(self) -> None:
        wrong = 0
        made = self.form.fields.made
        for row, (label, names) in enumerate(self._sections):
            # What is not made yet lies out of sight, or comes in a moment, and is marked then.
            problems = sum(len(made[name].answer().problems) for name in names if name in made)
            wrong += problems
            item = self.sections.item(row)
            item.setText(
                tr(
                    "library.editor.label_problems_to_do",
                    label=Name(label),
                    problems=problems,
                )
                if problems
                else label
            )
        if not self.problem.text():
            return
        problems_now = self.form.problems()
        if problems_now:
            self._say_problem(problems_now)
        else:
            self.problem.setText("")

    def _show_first_problem(self) -> None:
        self.form.reveal()
        shown = self.form.fields.shown_entries()
        if not any(entry.answer().problems for entry in shown):
            self.everything.setChecked(True)  # what is wrong lies behind the fold
            self.form.reveal()
        self._say_problem(self.form.problems())

    def _say_problem(self, problems: Sequence[tuple[str, str]]) -> None:
        more = len(problems) - 1
        rest = tr("library.editor.more_more", more=more) if more > 0 else ""
        self.problem.setText(
            tr(
                "library.editor.not_saved_yet_problems_rest",
                problems=Name(problems[0][1]),
                rest=Name(rest),
            )
        )
        self.problem.setAccessibleName(self.problem.text())

    def _show_section(self, row: int) -> None:
        if self.sections.hasFocus() and row >= 0:
            self._scroll_to(self._sections[row][1][0])

    def _go_to_section(self) -> None:
        name = self._sections[self.sections.currentRow()][1][0]
        self._scroll_to(name)
        tab_stops = self.form.fields.entries[name].tab_stops()
        if tab_stops:
            tab_stops[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _scroll_to(self, name: str) -> None:
        entry = self.form.fields.make(name)
        if not self._later.is_done:  # what is still to come above it would push it away
            self._later.finish()
            self.area.lay_out()
        top = entry.mapTo(self.form, QPoint(0, 0)).y()
        self.area.verticalScrollBar().setValue(max(0, top - self.fontMetrics().height() * 2))

    def _follow_focus(self, now: QWidget | None) -> None:
        if now is None or not self.form.isAncestorOf(now):
            return
        margin = self.fontMetrics().height() * 3
        self.area.ensureWidgetVisible(now, 0, margin)
        self._mark_section_of(now)

    def _mark_section_of(self, field: QWidget) -> None:
        made = self.form.fields.made
        for row, (_label, names) in enumerate(self._sections):
            parts = [made[name] for name in names if name in made]
            if any(part is field or part.isAncestorOf(field) for part in parts):
                self.sections.setCurrentRow(row)
                return

    def _follow_scroll(self) -> None:
        """Mark the section of the field in hand, or the one at the top if that is out of sight."""
        now = QApplication.focusWidget()
        if now is self.sections:
            return
        if now is not None and self.form.isAncestorOf(now) and not now.visibleRegion().isEmpty():
            self._mark_section_of(now)
            return
        edge = self.area.verticalScrollBar().value() + self.fontMetrics().height() * 3
        made, at_top = self.form.fields.made, 0
        for row, (_label, names) in enumerate(self._sections):
            shown = [made[name] for name in names if name in made and made[name].isVisible()]
            if shown and min(one.mapTo(self.form, QPoint(0, 0)).y() for one in shown) <= edge:
                at_top = row
        self.sections.setCurrentRow(at_top)


def _with(section: str, beside: Mapping[str, str]) -> list[str]:
    return [name for name, of in beside.items() if of == section]


def _much_like(thing: AnyRecord, name: str) -> AnyRecord:
    """Return a new one with these figures; what belongs to the other one alone stays behind."""
    if isinstance(thing, Deck):
        return much_like(thing, name)
    own = {"taken_apart": ""} if isinstance(thing, Headshell) else {}
    return thing.model_copy(update={"name": name, "notes": "", **own})


def _title(noun: str, thing: AnyRecord | None, revision: int, *, copies: bool) -> str:
    if thing is None:
        return tr("library.editor.a_new_noun", noun=Name(noun))
    if isinstance(thing, Job):
        return tr("jobs.page.title", number=Name(one_line(thing.number)), revision=revision)
    return (
        tr("library.editor.a_new_noun_copied", noun=Name(noun))
        if copies
        else tr(
            "library.editor.thing_revision_revision",
            thing=Name(one_line(name_of(thing))),
            revision=revision,
        )
    )
