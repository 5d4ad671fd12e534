"""What is done to many records at once: at once or beside the window, said, and taken back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, TypeVar

from PySide6.QtCore import QObject, QTimer, Signal

from core.language import Name, Numbers
from core.store import Archiving, Library, LibraryProblem, Undone
from desktop.tasks.background_task import BackgroundTask, GoOn, Told
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.undo_bar import UndoBar

if TYPE_CHECKING:
    from core.store.taking_back import Brought, TakenBack

T = TypeVar("T")
ActWork = Callable[[Library, GoOn, Told], Any]
"""Does something to a library; asked before each portion whether to go on, it tells how far it is.
"""

_MOST_AT_ONCE: Final = 200
"""Records that are changed without a noticeable wait."""
_MOST_KEPT: Final = 50
"""Acts that can be taken back, one after the other."""
_MOST_NAMED: Final = 3
_SHOWN_EVERY_MS: Final = 200


@dataclass(frozen=True, slots=True)
class _Act:
    """How one act is taken back: what is done, to how many records, and what is said then."""

    undo: ActWork
    count: int
    words: Callable[[Any], str]


class LibraryActs(QObject):
    """Archives, brings back, and takes back what was done last, step by step."""

    changed = Signal()
    """The library was changed."""

    def __init__(
        self,
        library: Library,
        numbers: Numbers,
        messages: Messages,
        bar: UndoBar,
        who: Callable[[], str],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._library, self._numbers, self._messages, self._bar = library, numbers, messages, bar
        self._who = who
        self._done: list[_Act] = []
        self._task: BackgroundTask | None = None
        self._count = 0
        self._tick = QTimer(self, interval=_SHOWN_EVERY_MS)
        self._tick.timeout.connect(lambda: bar.progress.setValue(self._count))
        bar.undo_wanted.connect(self.undo)
        bar.stop_wanted.connect(self.stop)

    @property
    def is_busy(self) -> bool:
        """Whether something is under way."""
        return self._task is not None

    def archive(self, sort: str, ids: Sequence[str], *, archived: bool) -> None:
        """Put records away or bring them back."""

        def work(library: Library, go_on: GoOn, told: Told) -> Archiving:
            return library.archive(sort, ids, archived=archived, go_on=go_on, told=told)

        def done(act: Archiving) -> None:
            count = len(act.before)
            if count:
                self._keep(_Act(_undoing(act), count, lambda undone: self._undone(act, undone)))
                self._bar.say(self._archived(sort, count, archived=archived), can_undo=True)

        words = tr("library.acts.archiving") if archived else tr("library.acts.bringing_back")
        self._run(words, len(ids), work, done)

    def note_import(self, brought: Brought | None, name: str) -> None:
        """Offer to take back what a document brought, if it brought anything."""
        if brought is None or not brought.came:
            return
        count, who = len(brought.came), self._who()

        def undo(library: Library, go_on: GoOn, told: Told) -> tuple[TakenBack, list[str]]:
            from core.store import taking_back  # rarely wanted

            reason = tr("library.acts.reason", name=Name(name))
            taken = taking_back.take_back(
                library, brought, who=who, reason=reason, go_on=go_on, told=told
            )
            named = taking_back.names_of(library, taken.left)
            return taken, [named.get(one, "") for _, one in taken.left]

        self._keep(_Act(undo, count, lambda done: self._taken_back(name, *done)))
        words = tr(
            "library.acts.imported", name=Name(name), n=count, count=Name(self._counted(count))
        )
        self._bar.say(words, can_undo=True)

    def note_handed_over(self, job_id: str) -> None:
        """Say that a job was just handed over, and offer to undo it."""
        kept = self._library.jobs.records.get(job_id)
        number = Name(kept.thing.number)

        def undo(library: Library, _go_on: GoOn, _told: Told) -> bool:
            now = library.jobs.records.get(job_id)
            if now.thing.handed_over != kept.thing.handed_over:
                return False
            here = now.thing.model_copy(update={"handed_over": ""})
            library.keep_job(here, id=job_id, who=self._who(), based_on=now.revision)
            return True

        def words(is_here: bool) -> str:  # noqa: FBT001 - what the act returned
            said = {True: "here", False: "left"}[is_here]
            return tr("library.acts.handed_over_undone", number=number, job=said)

        self._keep(_Act(undo, 1, words))
        self._bar.say(tr("library.acts.handed_over", number=number), can_undo=True)

    def undo(self) -> None:
        """Take back what was done last; without anything to take back this does nothing."""
        if self.is_busy or not self._done:
            return
        act = self._done[-1]

        def done(result: Any) -> None:
            self._done.remove(act)
            self._bar.say(act.words(result), can_undo=bool(self._done))

        self._run(tr("library.acts.undo_under_way"), act.count, act.undo, done)

    def stop(self) -> None:
        """Give up what is under way: all is as it was."""
        if self._task is None:
            return
        self._task.stop()
        self._end_task()
        self._bar.say(tr("library.acts.stopped"), can_undo=bool(self._done))
        self.changed.emit()

    def end(self) -> None:
        """Stop, and say nothing: the library is about to be closed."""
        if self._task is not None:
            self._task.stop()
            self._end_task()

    def _keep(self, act: _Act) -> None:
        self._done.append(act)
        del self._done[:-_MOST_KEPT]

    def _run(self, words: str, count: int, work: ActWork, done: Callable[[Any], None]) -> None:
        if self.is_busy:
            self._messages.tell(tr("library.acts.not_done"), tr("library.acts.wait"))
            return
        if count <= _MOST_AT_ONCE:
            try:
                result = work(self._library, lambda: True, lambda _count: None)
            except LibraryProblem as problem:
                tell_problem(self._messages, problem)
            else:
                done(result)
            self.changed.emit()
            return
        address, self._count = self._library.address, 0

        def apart(go_on: GoOn) -> Any:
            with Library.open(address) as library:
                return work(library, go_on, self._note)

        self._task = BackgroundTask(apart, self)
        self._task.done.connect(lambda result: self._on_done(result, done))
        self._task.failed.connect(self._on_failed)
        self._bar.say_under_way(words, count)
        self._task.start()
        self._tick.start()

    def _note(self, count: int) -> None:
        self._count = count  # from the other thread: the bar only reads it

    def _on_done(self, result: Any, done: Callable[[Any], None]) -> None:
        self._end_task()
        done(result)
        self.changed.emit()

    def _on_failed(self, problem: LibraryProblem) -> None:
        self._end_task()
        self._bar.put_away()
        tell_problem(self._messages, problem)
        self.changed.emit()

    def _end_task(self) -> None:
        self._tick.stop()
        if self._task is not None:
            self._task.deleteLater()
            self._task = None

    # words

    def _archived(self, sort: str, n: int, *, archived: bool) -> str:
        count = Name(self._counted(n))
        if archived:
            return tr("library.acts.archived", sort=_named(sort, n), count=count)
        return tr("library.acts.brought_back", sort=_named(sort, n), count=count)

    def _undone(self, act: Archiving, undone: Undone) -> str:
        words = self._archived(act.sort, undone.count, archived=not act.archived)
        left = len(undone.left)
        if not left:
            return words
        return f"{words} {tr('library.acts.left', n=left, count=Name(self._counted(left)))}"

    def _taken_back(self, name: str, taken: TakenBack, left: list[str]) -> str:
        parts = [
            self._archived(sort, count, archived=True) for sort, count in taken.archived.items()
        ]
        if taken.put_back:
            count = Name(self._counted(taken.put_back))
            parts.append(tr("library.acts.put_back", n=taken.put_back, count=count))
        if taken.withdrawn:
            count = Name(self._counted(taken.withdrawn))
            parts.append(tr("library.acts.withdrawn", n=taken.withdrawn, count=count))
        if left:
            names = ", ".join(f"“{one}”" for one in left[:_MOST_NAMED])
            more = "…" if len(left) > _MOST_NAMED else ""
            count = Name(self._counted(len(left)))
            parts.append(
                tr("library.acts.left_named", n=len(left), count=count, names=Name(names + more))
            )
        return " ".join([tr("library.acts.taken_back", name=Name(name)), *parts])

    def _counted(self, count: int) -> str:
        sign = "," if self._numbers.decimal == "." else "\u202f"
        return f"{count:,}".replace(",", sign)


def _named(sort: str, count: int) -> str:
    return sort if count == 1 else f"{sort}s"


def _undoing(act: Archiving) -> ActWork:
    def undo(library: Library, go_on: GoOn, told: Told) -> Undone:
        return library.undo_archiving(act, go_on=go_on, told=told)

    return undo
