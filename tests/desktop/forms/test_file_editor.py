"""A field that is filled from a file: read in a thread, given up at once, never half taken."""

from __future__ import annotations

import threading
from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import ClassVar, Self

import pytest
from pydantic import Field
from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from core.language import Numbers
from core.records import FieldKind, FileFigures, FrozenModel, fields_of
from desktop.forms.file_editor import FileEditor
from desktop.forms.form import Form

Shown = Callable[..., QWidget]


class Lines(FileFigures):
    ENDINGS: ClassVar[tuple[str, ...]] = ("txt",)
    may_end: ClassVar[threading.Event] = threading.Event()
    threads: ClassVar[list[threading.Thread]] = []

    count: int

    @classmethod
    def read(cls, path: Path) -> Generator[float, None, Self]:
        cls.threads.append(threading.current_thread())
        found = path.read_text(encoding="utf-8").splitlines()
        while not cls.may_end.wait(0.01):
            yield 0.4
        if not found:
            raise ValueError("holds no line")
        return cls(file=path.name, count=len(found))


class Counted(FrozenModel):
    lines: Lines = Field(title="List", description="Any text.")


@pytest.fixture(autouse=True)
def _gate() -> Iterator[None]:
    Lines.may_end.set()
    Lines.threads.clear()
    yield
    Lines.may_end.set()


@pytest.fixture
def form(shown: Shown) -> Form:
    made = Form(Counted, Numbers())
    shown(made)
    made.start()
    return made


@pytest.fixture
def text(tmp_path: Path) -> Path:
    path = tmp_path / "three.txt"
    path.write_text("a\nb\nc\n", encoding="utf-8")
    return path


def editor_of(form: Form) -> FileEditor:
    (editor,) = form.fields.shown_entries()
    assert isinstance(editor, FileEditor)
    return editor


def type_path(qtbot: QtBot, form: Form, path: object) -> FileEditor:
    editor = editor_of(form)
    editor.line.clear()
    qtbot.keyClicks(editor.line, str(path))
    qtbot.keyClick(editor.line, Qt.Key.Key_Return)
    return editor


def test_the_form_knows_the_kind() -> None:
    (spec,) = fields_of(Counted)
    assert (spec.kind, spec.member) == (FieldKind.FILE, Lines)


def test_figures_are_read_in_a_thread_while_the_form_says_how_far(
    form: Form, text: Path, qtbot: QtBot
) -> None:
    Lines.may_end.clear()
    drafts: list[object] = []
    form.draft_changed.connect(lambda: drafts.append(form.draft()))
    editor = type_path(qtbot, form, text)
    qtbot.waitUntil(lambda: any("40 %" in one.text() for one in editor.findChildren(QLabel)))
    assert form.problems() == [("List", "“List” is still being read.")]
    assert set(drafts) == {None}
    Lines.may_end.set()
    with qtbot.waitSignal(form.draft_changed):
        pass
    assert form.draft() == Counted(lines=Lines(file="three.txt", count=3))
    assert drafts[-1] == form.draft()
    assert threading.main_thread() not in Lines.threads
    with qtbot.waitSignal(form.submitted):
        qtbot.keyClick(editor.line, Qt.Key.Key_Return)
    form.put(form.draft())
    assert form.draft() == Counted(lines=Lines(file="three.txt", count=3))
    form.settle()
    assert form.problems() == [("List", "“List”: choose a file.")]


@pytest.mark.parametrize(("words", "said"), [("", "holds no line"), (None, "No such file")])
def test_what_can_not_be_read_is_said(
    form: Form, tmp_path: Path, qtbot: QtBot, words: str | None, said: str
) -> None:
    path = tmp_path / "odd.txt"
    if words is not None:
        path.write_text(words, encoding="utf-8")
    editor = type_path(qtbot, form, path)
    qtbot.waitUntil(lambda: not editor.is_reading)
    ((label, sentence),) = form.problems()
    assert label == "List"
    assert said in sentence


def test_another_path_gives_up_the_first(form: Form, text: Path, qtbot: QtBot) -> None:
    Lines.may_end.clear()
    editor = type_path(qtbot, form, text)
    qtbot.waitUntil(lambda: bool(Lines.threads))
    qtbot.keyClicks(editor.line, "x")
    assert not editor.is_reading
    (thread,) = Lines.threads
    assert not thread.is_alive()


def test_a_form_that_goes_away_gives_up(form: Form, text: Path, qtbot: QtBot) -> None:
    Lines.may_end.clear()
    type_path(qtbot, form, text)
    qtbot.waitUntil(lambda: bool(Lines.threads))
    editor_of(form).deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert not Lines.threads[0].is_alive()
