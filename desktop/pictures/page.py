"""The pictures of one deck, cartridge, job or fitting: a sheet of small ones, and one large."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from PySide6.QtCore import QEvent, QObject, QSize, QStandardPaths, Qt
from PySide6.QtGui import QGuiApplication, QIcon, QKeyEvent, QKeySequence, QPainter, QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListView,
    QListWidget,
    QListWidgetItem,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from core.language import Name, Numbers, message
from core.records import KeptPicture, PictureOf
from core.store import Library, LibraryProblem, ProblemKind, Stored, WorkStoppedError
from core.store.files import replacing
from core.store.jpeg import LONGEST_SMALL_EDGE
from desktop.pictures.given import given_by
from desktop.pictures.large_view import LargeView
from desktop.pictures.reading import KINDS
from desktop.pictures.taker import Given, PictureTaker, Read
from desktop.tasks.background_task import GoOn, Told
from desktop.tasks.blocking_task import run_blocking
from desktop.widgets import theme
from desktop.widgets.flow_row import FlowRow
from desktop.widgets.keys import bind, is_enter
from desktop.widgets.language import said, tr
from desktop.widgets.local_time import today
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, announce, button, text_label
from desktop.widgets.plain_text import breakable, one_line, plain_label, plain_tip
from desktop.widgets.preferences import Preferences
from desktop.widgets.undo_bar import UndoBar, let_undo_through

_FILES: Final = message("pictures.page.files", endings=Name(" ".join(f"*.{one}" for one in KINDS)))
_JPEG: Final = message("pictures.page.jpeg")
_SMALL_EM: Final = 9
_LONGEST_CAPTION: Final = 200
_MOST_TOLD: Final = 6
"""Reasons that are told one by one."""


@dataclass(frozen=True, slots=True)
class _Withdrawal:
    """What was done last: these were withdrawn or brought back, or are new here."""

    ids: tuple[str, ...]
    day: str  # what makes it undone: a day withdraws, an empty one brings back


class PicturesPage(Page):
    """All pictures of one thing.

    Raises LibraryProblem if the thing or its pictures can't be read.
    """

    escape_leaves = True

    def __init__(
        self,
        library: Library,
        owner: tuple[str, str],
        numbers: Numbers,
        messages: Messages,
        *,
        who: str = "",
        preferences: Preferences | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self.owner, self._who = library, owner, who
        self._preferences = preferences
        self._numbers, self._messages = numbers, messages
        self._name = name_of(library, owner)
        self._rows: tuple[Stored[KeptPicture], ...] = ()
        self._captioned: tuple[str, int, str] = "", 0, ""
        self._act: _Withdrawal | None = None
        self.taker = PictureTaker(self)
        title = tr("pictures.page.title", name=Name(one_line(self._name)))
        self.setAccessibleName(title)
        self._build(title)
        self._connect()
        self._read()

    # what pages do

    def subject(self) -> tuple[str, str]:
        """Return what pictures that are dropped here belong to."""
        return self.owner

    def begin(self) -> None:
        """Put the focus on the pictures, or on the way to add one."""
        if self.view.isVisibleTo(self):
            self.view.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            (self.sheet if self._rows else self.add_button).setFocus()

    def look_again(self) -> None:
        """Show what another window has added or withdrawn, and say so of the one looked at."""
        before = self.current
        try:
            self._read()
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        if before is None:
            return
        now = next((row for row in self._rows if row.id == before.id), None)
        if now is None or (now.thing.withdrawn and not before.thing.withdrawn):
            gone = tr("pictures.page.withdrawn_elsewhere", caption=Name(self._said(before)))
            self.told_of_others.emit(gone)
        elif now.thing.caption != before.thing.caption and self._is_typed():
            self.told_of_others.emit(tr("pictures.page.said_elsewhere"))

    def may_leave(self) -> bool:
        """Keep the words under the picture; ask about what is still being read."""
        if not self._keep_caption():
            return False
        if self.taker.is_at_work:
            answer = self._messages.ask(
                tr("pictures.page.still_reading"),
                tr("pictures.page.still_reading_question"),
                [tr("pictures.page.wait"), tr("pictures.page.leave_without")],
                stays=0,
            )
            if answer != 1:
                return False
        self.taker.end()
        return True

    def end(self) -> None:
        """Give up what is being read: the library that it was for is about to be closed."""
        self.taker.end()
        super().end()

    def leave(self) -> None:
        """Go back: from the large picture to the sheet, from there to where one came from."""
        if self.places.currentWidget() is self.view:
            self.show_sheet()
        else:
            super().leave()

    # acts

    @property
    def current(self) -> Stored[KeptPicture] | None:
        """The picture that is picked, or looked at."""
        at = self.sheet.currentRow()
        return self._rows[at] if 0 <= at < len(self._rows) else None

    def take(self, given: Sequence[Given]) -> None:
        """Add pictures; each that is none is told in a sentence."""
        if self._library.read_only:
            self._refuse(tr("pictures.page.looking_only"))
            return
        self.taker.take(given)

    def add(self) -> None:
        """Ask for a file and add it."""
        title = tr("pictures.page.add_title")
        chosen = self._messages.file_to_open(title, self._folder(), said(_FILES))
        if chosen is not None:
            if self._preferences is not None:
                self._preferences.remember_pictures_folder(str(chosen.parent))
            self.take([chosen])

    def _folder(self) -> Path:
        """Return where a picture was taken from last if it is there, else where pictures lie."""
        last = "" if self._preferences is None else self._preferences.pictures_folder
        if last and os.path.isdir(last):  # noqa: PTH112 - says no where Path.is_dir raises
            return Path(last)
        places = QStandardPaths.StandardLocation
        pictures = QStandardPaths.writableLocation(places.PicturesLocation)
        return Path(pictures) if Path(pictures).is_dir() else Path.home()

    def paste(self) -> None:
        """Add what was copied."""
        given = given_by(QGuiApplication.clipboard().mimeData())
        if given:
            self.take(given)
        else:
            self._refuse(tr("pictures.page.nothing_copied"))

    def look(self) -> None:
        """Show the picture that is picked, large."""
        if self.current is not None and self._keep_caption():
            self.places.setCurrentWidget(self.view)
            self._show_large()
            self.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_sheet(self) -> None:
        """Go back to the small ones."""
        if self._keep_caption():
            self.places.setCurrentWidget(self.sheet)
            self._say_buttons()
            self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def go(self, by: int) -> None:
        """Go to the picture before or after."""
        at = self.sheet.currentRow() + by
        if 0 <= at < len(self._rows):
            self.sheet.setCurrentRow(at)

    def save_copy(self) -> None:
        """Write the picture that is picked to a file."""
        row = self.current
        image = self._image(row)
        if row is None or image is None:
            return
        name = "".join(one if one.isalnum() else "-" for one in self._said(row)).strip("-")
        start = self._library.address.folder / f"{name[:60] or 'picture'}.jpg"
        chosen = self._messages.file_to_save(tr("pictures.page.save_title"), start, said(_JPEG))
        if chosen is None:
            return
        path = chosen if chosen.suffix else chosen.with_suffix(".jpg")
        if self._library.address.may_be_library(path):
            self._refuse(tr("pictures.page.is_the_library", path=Name(str(path))))
            return
        try:
            with replacing(path) as temporary:
                temporary.write_bytes(image)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        self._say(tr("pictures.page.saved", path=Name(str(path))))

    def withdraw(self) -> None:
        """Withdraw the picture that is picked, or let it count again."""
        row = self.current
        if row is None or row.thing.erased or not self.withdraw_button.isEnabled():
            return
        day = "" if row.thing.withdrawn else today().isoformat()
        if self._put([row.id], day):
            way = "withdrawn" if day else "brought back"
            self._did(tr("pictures.page.did", way=way), [row.id], day)

    def erase(self) -> None:
        """Ask, and erase what the withdrawn picture that is picked shows, for good."""
        row = self.current
        if row is None or not self.erase_button.isEnabled() or not self._keep_caption():
            return
        answer = self._messages.ask(
            tr("pictures.erase.title"),
            tr("pictures.erase.question", caption=Name(self._said(row))),
            [tr("pictures.erase.here"), tr("pictures.erase.everywhere"), tr("pictures.erase.keep")],
            stays=2,
            enter=2,
        )
        if answer not in (0, 1):
            return
        try:
            is_gone = self._library.erase_picture(row.id, who=self._who)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            self._read_again()
            return
        self._act = None
        left = self._erase_in_backups(row.id) if answer == 1 else ""
        self._read_again()
        self._say(tr("pictures.erase.done"))
        others = self._library.pictures.with_content(row.thing.content)
        told = [
            *([] if is_gone else [tr("pictures.erase.other_window_holds")]),
            *([tr("pictures.erase.others_show_it", n=len(others))] if others else []),
            *([left] if left else []),
        ]
        if told:
            self._messages.tell(tr("pictures.erase.erased_title"), "\n".join(told))

    def _erase_in_backups(self, picture_id: str) -> str:
        """Erase it there too; return what is to be said of backups where that did not happen."""
        address, who = self._library.address, self._who

        def apart(go_on: GoOn, told: Told) -> tuple[Path, ...]:
            with Library.open(address) as library:
                return library.erase_picture_in_backups(picture_id, who=who, go_on=go_on, told=told)

        try:
            left = run_blocking(self.window(), tr("pictures.erase.in_backups"), apart)
        except WorkStoppedError:
            return tr("pictures.erase.backups_stopped")
        except LibraryProblem as problem:
            return said(problem.what)
        names = Name(", ".join(path.name for path in left))
        return tr("pictures.erase.backups_left", names=names) if left else ""

    def undo(self) -> None:
        """Take back what was done last, and look at what it was about."""
        act, self._act = self._act, None
        if act is not None and self._put(act.ids, act.day):
            self._pick(act.ids[0])
            self._say(tr("pictures.page.undone"))

    def _pick(self, picture_id: str) -> None:
        """Pick a picture if it is on the page."""
        ids = [row.id for row in self._rows]
        if picture_id in ids:
            self.sheet.setCurrentRow(ids.index(picture_id))

    # construction

    def _build(self, title: str) -> None:
        self.heading = plain_label(breakable(title), wraps=True)
        self.heading.setFont(theme.scaled(self.font(), 1.6, bold=True))
        self.hint = text_label(tr("pictures.page.hint"), "muted")
        self.sheet = QListWidget()
        self.sheet.setAccessibleName(title)
        self.sheet.setAccessibleDescription(tr("pictures.page.sheet_tip"))
        self.sheet.setViewMode(QListView.ViewMode.IconMode)
        self.sheet.setMovement(QListView.Movement.Static)
        self.sheet.setResizeMode(QListView.ResizeMode.Adjust)
        self.sheet.setUniformItemSizes(True)
        self.sheet.setWordWrap(True)
        self.sheet.setTextElideMode(Qt.TextElideMode.ElideRight)
        side = round(_SMALL_EM * theme.em(self))
        self.sheet.setIconSize(QSize(side, side))
        self.sheet.setGridSize(QSize(side + 16, side + round(3 * theme.em(self))))
        self.view = LargeView()
        self.places = QStackedWidget()
        self.places.addWidget(self.sheet)
        self.places.addWidget(self.view)
        self.none = text_label(tr("pictures.page.none"), "muted")
        self.caption = QLineEdit(maxLength=_LONGEST_CAPTION)
        self.caption.setObjectName("pictureCaption")
        self.caption.setAccessibleDescription(tr("pictures.page.caption_tip"))
        self.caption_label = QLabel(tr("pictures.page.caption"))
        self.caption_label.setBuddy(self.caption)
        self.about = plain_label()
        self.about.setProperty("kind", "muted")
        self.undo_bar = UndoBar()
        self._build_buttons()
        line = add_all(QHBoxLayout(), self.caption_label, (self.caption, 1), self.about)
        add_all(
            QVBoxLayout(self),
            self.heading,
            self.hint,
            self.none,
            (self.places, 1),
            line,
            self.undo_bar,
            self.buttons,
        )
        let_undo_through(self)

    def _build_buttons(self) -> None:
        self.add_button = button(
            tr("pictures.page.add"), keys="Ins", tip=tr("pictures.page.add_tip")
        )
        self.paste_button = button(
            tr("pictures.page.paste"), keys="Ctrl+V", tip=tr("pictures.page.paste_tip")
        )
        self.look_button = button(
            tr("pictures.page.look"), keys="Return", tip=tr("pictures.page.look_tip")
        )
        self.before_button = button(
            tr("pictures.page.before"), keys="PgUp", tip=tr("pictures.page.before_tip")
        )
        self.after_button = button(
            tr("pictures.page.after"), keys="PgDown", tip=tr("pictures.page.after_tip")
        )
        self.nearer_button = button(
            tr("pictures.page.nearer"), keys="+", tip=tr("pictures.page.nearer_tip")
        )
        self.further_button = button(
            tr("pictures.page.further"), keys="-", tip=tr("pictures.page.further_tip")
        )
        self.save_button = button(tr("pictures.page.save"), tip=tr("pictures.page.save_tip"))
        self.withdraw_button = button("", keys="Del", tip=tr("pictures.page.withdraw_tip"))
        self.erase_button = button(tr("pictures.page.erase"), tip=tr("pictures.page.erase_tip"))
        self.withdrawn_too = QCheckBox(tr("pictures.page.withdrawn_too"))
        self.back_button = button(
            tr("pictures.page.back"), keys="Esc", tip=tr("pictures.page.back_tip")
        )
        self.buttons = FlowRow(
            (
                self.add_button,
                self.paste_button,
                self.look_button,
                self.before_button,
                self.after_button,
                self.nearer_button,
                self.further_button,
                self.save_button,
                self.withdraw_button,
                self.erase_button,
                self.withdrawn_too,
                self.back_button,
            )
        )

    def _connect(self) -> None:
        for one, act in (
            (self.add_button, self.add),
            (self.paste_button, self.paste),
            (self.look_button, self.look),
            (self.before_button, lambda: self.go(-1)),
            (self.after_button, lambda: self.go(1)),
            (self.nearer_button, self.view.nearer),
            (self.further_button, lambda: self.view.nearer(-1)),
            (self.save_button, self.save_copy),
            (self.withdraw_button, self.withdraw),
            (self.erase_button, self.erase),
            (self.back_button, self.leave),
        ):
            one.clicked.connect(lambda _checked=False, act=act: act())
        self.withdrawn_too.toggled.connect(lambda _on: self.look_again())
        self.sheet.currentRowChanged.connect(lambda _row: self._on_moved())
        self.sheet.itemActivated.connect(lambda _item: self.look())
        self.sheet.installEventFilter(self)
        self.caption.installEventFilter(self)
        self.caption.editingFinished.connect(self._keep_caption)
        self.view.other_wanted.connect(self.go)
        self.view.zoomed.connect(self._say_buttons)
        self.undo_bar.undo_wanted.connect(self.undo)
        self.undo_bar.stop_wanted.connect(self.taker.ask_to_stop)
        self.taker.begun.connect(self._on_begun)
        self.taker.progressed.connect(self.undo_bar.progress.setValue)
        self.taker.done.connect(self._on_read)
        self.taker.stopped.connect(lambda: self._say(tr("pictures.page.stopped")))
        bind(self, "Ctrl+Z", self.undo)
        bind(self, QKeySequence.StandardKey.Paste, self.paste)
        bind(self, "Ins", self.add)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Withdraw with Del on the sheet, look with Enter; leave a copied picture to the page."""
        if isinstance(event, QKeyEvent) and watched is self.sheet:
            if event.type() == QEvent.Type.KeyPress and event.key() == Qt.Key.Key_Delete:
                self.withdraw()
                return True
            if is_enter(event):
                self.look()
                return True
        if (
            watched is self.caption
            and isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.ShortcutOverride
            and event.matches(QKeySequence.StandardKey.Paste)
            and not QGuiApplication.clipboard().text()
        ):
            event.ignore()
            return True
        if watched is self.caption and is_enter(event):
            self._keep_caption()
            (self.view if self.places.currentWidget() is self.view else self.sheet).setFocus()
            return True
        return super().eventFilter(watched, event)

    # behaviour

    def _read(self) -> None:
        """Read the pictures; what is picked stays picked, or its neighbour is."""
        before, at = self.current, self.sheet.currentRow()
        self._rows = self._library.pictures.of(
            *self.owner, withdrawn=self.withdrawn_too.isChecked()
        )
        self.sheet.blockSignals(True)  # noqa: FBT003 - Qt takes it so
        self.sheet.clear()
        for row in self._rows:
            self.sheet.addItem(self._item(row))
        ids = [row.id for row in self._rows]
        if ids:
            kept = before is not None and before.id in ids
            self.sheet.setCurrentRow(
                ids.index(before.id) if kept and before else min(max(at, 0), len(ids) - 1)
            )
        self.sheet.blockSignals(False)  # noqa: FBT003 - the same
        if not ids and self.places.currentWidget() is self.view:
            self.places.setCurrentWidget(self.sheet)
        self._on_moved()

    def _item(self, row: Stored[KeptPicture]) -> QListWidgetItem:
        words = self._said(row)
        if row.thing.erased:
            words = tr("pictures.page.is_erased", caption=Name(words))
        elif row.thing.withdrawn:
            words = tr("pictures.page.is_withdrawn", caption=Name(words))
        item = QListWidgetItem(words)
        small = QPixmap()
        jpeg = None if row.thing.erased else self._library.pictures.small(row.thing.content)
        if jpeg is not None:
            small.loadFromData(jpeg, "JPEG")
        item.setIcon(_icon(small))
        tip = tr(
            "pictures.page.about",
            caption=Name(words),
            day=Name(row.thing.day),
            who=Name(row.who),
            known="known" if row.who else "unknown",
        )
        item.setToolTip(plain_tip(tip))
        item.setData(Qt.ItemDataRole.AccessibleTextRole, tip)
        item.setSizeHint(self.sheet.gridSize())
        return item

    def _said(self, row: Stored[KeptPicture]) -> str:
        return one_line(row.thing.caption) or tr("pictures.page.no_caption")

    def _on_moved(self) -> None:
        row = self.current
        if row is None or row.id != self._captioned[0]:
            self._keep_caption()
            row = self.current
        if row is None:
            self._captioned = "", 0, ""
            self.caption.clear()
            self.about.clear()
        else:
            if not (row.id == self._captioned[0] and self._is_typed()):
                self._captioned = row.id, row.revision, row.thing.caption
                self.caption.setText(row.thing.caption)
            self.about.setText(
                tr(
                    "pictures.page.when",
                    day=Name(row.thing.day),
                    who=Name(row.who),
                    known="known" if row.who else "unknown",
                )
            )
        if self.places.currentWidget() is self.view:
            self._show_large()
        self._say_buttons()

    def _is_typed(self) -> bool:
        return bool(self._captioned[0]) and self.caption.text() != self._captioned[2]

    def _keep_caption(self) -> bool:
        """Keep the words that are typed under a picture; whether nothing is left to keep."""
        picture_id, revision, _ = self._captioned
        if not self._is_typed():
            return True
        words = self.caption.text().strip()
        try:
            kept = self._library.pictures.say(picture_id, words, who=self._who, based_on=revision)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            if problem.kind is not ProblemKind.CHANGED_ELSEWHERE:
                return False
            self._captioned = picture_id, revision + 1, words  # theirs is shown; ours was told
        else:
            self._captioned = picture_id, kept.revision, kept.thing.caption
        self._read_again()
        return True

    def _show_large(self) -> None:
        row = self.current
        if row is None:
            return
        image = self._image(row)
        at, count = self.sheet.currentRow() + 1, len(self._rows)
        caption = Name(self._said(row))
        words = tr("pictures.page.large", at=at, count=count, caption=caption)
        if row.thing.erased:
            words = tr("pictures.page.was_erased", caption=caption, day=Name(row.thing.erased))
        elif image is None:
            words = tr("pictures.page.lost", caption=caption)
        self.view.show_picture(image, words)
        announce(self.view, words)

    def _image(self, row: Stored[KeptPicture] | None) -> bytes | None:
        if row is None or row.thing.erased:
            return None
        try:
            return self._library.pictures.image(row.thing.content)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return None

    def _say_buttons(self) -> None:
        row, is_large = self.current, self.places.currentWidget() is self.view
        can_write = not self._library.read_only
        self.none.setVisible(not self._rows)
        self.hint.setVisible(not is_large and can_write)
        for one in (self.add_button, self.paste_button, self.withdrawn_too):
            one.setVisible(not is_large)
        for one in (self.add_button, self.paste_button):
            one.setEnabled(can_write)
        self.look_button.setVisible(not is_large and row is not None)
        for one in (self.before_button, self.after_button, self.nearer_button, self.further_button):
            one.setVisible(is_large)
        at = self.sheet.currentRow()
        self.before_button.setEnabled(at > 0)
        self.after_button.setEnabled(at + 1 < len(self._rows))
        self.further_button.setEnabled(not self.view.fits)
        is_withdrawn = row is not None and bool(row.thing.withdrawn)
        is_erased = row is not None and bool(row.thing.erased)
        for one in (self.save_button, self.withdraw_button):
            one.setVisible(row is not None and not is_erased)
        self.erase_button.setVisible(is_withdrawn and not is_erased)
        for one in (self.withdraw_button, self.erase_button):
            one.setEnabled(can_write)
        self.withdraw_button.setText(
            tr("pictures.page.count_again") if is_withdrawn else tr("pictures.page.withdraw")
        )
        self.caption.setReadOnly(not can_write)
        for part in (self.caption_label, self.caption, self.about):
            part.setVisible(row is not None)
        self.buttons.updateGeometry()

    def _on_begun(self, most: int) -> None:
        self._act = None
        self.undo_bar.say_under_way(tr("pictures.page.reading"), max(most, 1))

    def _on_read(self, read: Read) -> None:
        """Keep what could be read; say what could not."""
        added: list[str] = []
        there = {row.thing.content for row in self._library.pictures.of(*self.owner)}
        of, thing = PictureOf(self.owner[0]), self.owner[1]
        problems = list(read.problems)
        again = 0
        for content in read.contents:
            if content.hash in there:
                again += 1
                continue
            try:
                kept = self._library.pictures.add(of, thing, content, who=self._who, day=today())
            except LibraryProblem as problem:
                problems.append(problem)
                break
            there.add(content.hash)
            added.append(kept.id)
        self._tell_not_added(again, problems)
        self._keep_caption()
        self._read_again()
        if not added:
            self.undo_bar.put_away()
            return
        self._pick(added[-1])
        words = tr("pictures.page.added", n=len(added), count=len(added))
        self._did(words, added, "")
        self.caption.setFocus(Qt.FocusReason.OtherFocusReason)

    def _tell_not_added(self, again: int, problems: Sequence[LibraryProblem]) -> None:
        """Say of all that was not added why not, together."""
        words = [tr("pictures.page.there_already", n=again, count=again)] if again else []
        words += dict.fromkeys(said(one.what) for one in problems[:_MOST_TOLD])
        more = len(problems[_MOST_TOLD:])
        if more:
            words.append(tr("pictures.page.and_more", n=more, count=more))
        if words:
            todo = said(problems[0].todo) if problems else ""
            self._messages.tell(tr("pictures.page.not_added"), "\n".join(words), todo)

    def _put(self, ids: Sequence[str], day: str) -> bool:
        try:
            with self._library.transaction():
                for one in ids:
                    self._library.pictures.withdraw(one, day, who=self._who)
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            self._read_again()
            return False
        self._read_again()
        return True

    def _read_again(self) -> None:
        try:
            self._read()
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)

    def _did(self, words: str, ids: Sequence[str], day: str) -> None:
        """Say what was done; ``day`` is what was put, so undoing puts the opposite."""
        self._act = _Withdrawal(tuple(ids), "" if day else today().isoformat())
        self.undo_bar.say(words, can_undo=True)

    def _say(self, words: str) -> None:
        self.undo_bar.say(words, can_undo=False)

    def _refuse(self, words: str) -> None:
        self._messages.tell(tr("pictures.page.not_added"), words)


def _icon(small: QPixmap) -> QIcon:
    """Return a picture in the middle of a square, the same whether it is picked or not."""
    square = QPixmap(LONGEST_SMALL_EDGE, LONGEST_SMALL_EDGE)
    square.fill(Qt.GlobalColor.transparent)
    painter = QPainter(square)
    painter.drawPixmap(
        (square.width() - small.width()) // 2, square.height() - small.height(), small
    )
    painter.end()
    icon = QIcon(square)
    icon.addPixmap(square, QIcon.Mode.Selected)
    return icon


def name_of(library: Library, owner: tuple[str, str]) -> str:
    """Return what a person calls a thing; LibraryProblem if there is none."""
    sort, thing_id = owner
    if sort == "fitting":
        row = next(iter(library.log.rows_of([thing_id])), None)
        if row is None:
            library.fitting(thing_id)  # says that there is none
            return ""
        return tr(
            "pictures.page.fitting",
            deck=Name(row.deck_name),
            cartridge=Name(row.cartridge_name),
            day=Name(row.started_at.date().isoformat()),
        )
    if sort == "job":
        return tr("pictures.page.job", number=Name(library.jobs.row(thing_id).number))
    return str(library.records(sort).get(thing_id).thing.name)
