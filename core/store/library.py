"""The library: decks, cartridges, fittings and their log in one file."""

from __future__ import annotations

import os
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from core.fitting import Body, Entry, Fitting, Planned, new_id
from core.records import ArmKind, Cartridge, Deck, StylusShape
from core.store import backups, problems
from core.store.backups import Backup
from core.store.last_finished import LastFinished
from core.store.log import FittingLog
from core.store.places import default_library_path, network_warning
from core.store.problems import LibraryProblem, ProblemKind
from core.store.revisions import RevisionStore
from core.store.rows import FittingRow, Kept, ThingRow, stamp
from core.store.schema import SCHEMA, Schema
from core.store.sqlite_file import SqliteFile, companion, open_file

_STARTERS_ADDED: Final = "starters added"
_BEGUN: Final = "begun at"


class Library:
    """An open library.

    Every change is on the disk when its call returns. Every failure is a
    :class:`~core.store.problems.LibraryProblem`, after which the library is as it was before the
    call and the call can be repeated. One Library belongs to one thread; any number of windows and
    programs may have the same file open, they wait for each other.

    Made by :meth:`open`.
    """

    def __init__(self, file: SqliteFile, who: str) -> None:
        self._file = file
        self.who = who
        self.deck_shelf: RevisionStore[Deck] = RevisionStore(
            file, "deck", Deck, _light_of_deck, lambda kind: ArmKind(kind).label
        )
        self.cartridge_shelf: RevisionStore[Cartridge] = RevisionStore(
            file, "cartridge", Cartridge, _light_of_cartridge, lambda cut: StylusShape(cut).label
        )
        self.log = FittingLog(file)
        self.ends = LastFinished(file)

    @classmethod
    def open(
        cls,
        path: Path | str,
        who: str = "",
        *,
        read_only: bool = False,
        begin_anew: bool = False,
        wait_s: float = 5.0,
        schema: Schema = SCHEMA,
    ) -> Self:
        """Open the library at ``path``, or begin one there.

        Parameters
        ----------
        path
            The library file. Its folder must exist, but for the default place, which is made.
        who
            Whose entries these are, unless told with the entry.
        read_only
            To look only; works on read-only disks and, as far as it goes, with damaged files.
        begin_anew
            Begin an empty library although traces of an earlier one (backups, an unfinished
            log) lie where ``path`` has nothing. Without it that is refused as VANISHED.
        wait_s
            How long a change waits for another window, in seconds.
        schema
            The tables to work with; other than the current ones only in tests.

        Raises
        ------
        LibraryProblem
            Of every kind that :class:`~core.store.problems.ProblemKind` names for files.
        """
        place = _checked(path)
        if not read_only:
            _make_default_folder(place)
        if not _is_folder(place.parent):
            raise problems.missing_folder(place)
        if not read_only and _has_nothing(place):
            _look_for_traces(place, begin_anew=begin_anew)
        file = open_file(
            place,
            schema,
            read_only=read_only,
            wait_s=wait_s,
            before_migration=_keep_older,
        )
        library = cls(file, who)
        try:
            if not read_only:
                library.add_starters()
        except BaseException:
            library.close()
            raise
        return library

    def close(self) -> None:
        """Close the file; closing twice does nothing."""
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def path(self) -> Path:
        """The library file."""
        return self._file.path

    @property
    def read_only(self) -> bool:
        """Whether it was opened to look only."""
        return self._file.read_only

    def warning(self) -> str | None:
        """Return what to tell the person about where the library lies, or None."""
        return network_warning(self.path)

    # Decks

    def decks(self, words: str = "", *, archived: bool | None = None) -> tuple[ThingRow, ...]:
        """Return the decks whose name or owner's reference holds all the words, by name."""
        return self.deck_shelf.rows(words, archived=archived)

    def deck(self, deck_id: str, revision: int | None = None) -> Kept[Deck]:
        """Return a deck, its newest revision unless told."""
        return self.deck_shelf.get(deck_id, revision)

    def deck_history(self, deck_id: str) -> tuple[Kept[Deck], ...]:
        """Return all revisions of a deck, first to newest."""
        return self.deck_shelf.history(deck_id)

    def keep_deck(
        self,
        deck: Deck,
        *,
        id: str | None = None,  # noqa: A002 - the same word as on what is handed out
        who: str = "",
        based_on: int | None = None,
    ) -> Kept[Deck]:
        """Keep a new deck, or a new revision of the one with this id.

        The same content makes no revision. With ``based_on``, the revision the person saw, a
        change made elsewhere since then is not passed over: CHANGED_ELSEWHERE.
        """
        return self.deck_shelf.keep(deck, id, who=who or self.who, based_on=based_on)

    def archive_deck(self, *ids: str, archived: bool = True) -> None:
        """Put decks away, or bring them back."""
        self.deck_shelf.archive(ids, archived=archived)

    # Cartridges

    def cartridges(self, words: str = "", *, archived: bool | None = None) -> tuple[ThingRow, ...]:
        """Return the cartridges whose name holds all the words, by name."""
        return self.cartridge_shelf.rows(words, archived=archived)

    def cartridge(self, cartridge_id: str, revision: int | None = None) -> Kept[Cartridge]:
        """Return a cartridge, its newest revision unless told."""
        return self.cartridge_shelf.get(cartridge_id, revision)

    def cartridge_history(self, cartridge_id: str) -> tuple[Kept[Cartridge], ...]:
        """Return all revisions of a cartridge, first to newest."""
        return self.cartridge_shelf.history(cartridge_id)

    def keep_cartridge(
        self,
        cartridge: Cartridge,
        *,
        id: str | None = None,  # noqa: A002 - the same word as on what is handed out
        who: str = "",
        based_on: int | None = None,
    ) -> Kept[Cartridge]:
        """Keep a new cartridge, or a new revision of the one with this id; as :meth:`keep_deck`."""
        return self.cartridge_shelf.keep(cartridge, id, who=who or self.who, based_on=based_on)

    def archive_cartridge(self, *ids: str, archived: bool = True) -> None:
        """Put cartridges away, or bring them back."""
        self.cartridge_shelf.archive(ids, archived=archived)

    # Fittings

    def fittings(
        self,
        words: str = "",
        *,
        deck_id: str | None = None,
        cartridge_id: str | None = None,
        finished: bool | None = None,
        archived: bool | None = None,
        limit: int | None = None,
    ) -> tuple[FittingRow, ...]:
        """Return the fittings that meet every condition, the one last worked on first.

        Every word must be found in deck, owner's reference, cartridge or a date (2025-03).
        """
        return self.log.rows(
            words,
            deck_id=deck_id,
            cartridge_id=cartridge_id,
            finished=finished,
            archived=archived,
            limit=limit,
        )

    def start_fitting(
        self,
        deck_id: str,
        cartridge_id: str,
        *,
        who: str = "",
        at: datetime | None = None,
        planned: Planned | None = None,
    ) -> Fitting:
        """Begin fitting a cartridge to a deck, with the newest revisions of both.

        With ``planned`` (what an earlier fitting foretells) as first entry; kept as one or not.
        """
        began, name = at or datetime.now(UTC), who or self.who
        entries = () if planned is None else (Entry(at=began, who=name, body=planned),)
        with self._file.transaction():
            fitting = Fitting(
                id=new_id(),
                deck_id=deck_id,
                deck_revision=self.deck(deck_id).revision,
                cartridge_id=cartridge_id,
                cartridge_revision=self.cartridge(cartridge_id).revision,
                started_at=began,
                who=name,
                entries=entries,
            )
            self.log.add(fitting)
        return fitting

    def fitting(self, fitting_id: str) -> Fitting:
        """Return a fitting with its whole log."""
        return self.log.get(fitting_id)

    def append(
        self,
        fitting_id: str,
        body: Body,
        *,
        who: str = "",
        at: datetime | None = None,
        entry_id: str | None = None,
    ) -> Entry:
        """Keep one entry at the end of a fitting's log; it is on the disk on return.

        With an ``entry_id`` of the caller's (:func:`core.fitting.new_id`) a call that failed can
        be repeated without fear of a second entry.
        """
        entry = Entry(
            id=entry_id or new_id(), at=at or datetime.now(UTC), who=who or self.who, body=body
        )
        return self.log.append(fitting_id, entry)

    def archive_fitting(self, *ids: str, archived: bool = True) -> None:
        """Put fittings away, or bring them back."""
        self.log.archive(ids, archived=archived)

    # The whole

    def add_starters(self) -> None:
        """Put the starter decks and cartridges in; once in the life of a library."""
        if self.fact(_STARTERS_ADDED) is not None:
            return
        from core.store import documents, exchange  # only a new library needs them
        from profiles import starter_documents

        starters = [documents.document_from(content, name) for content, name in starter_documents()]
        with self._file.transaction():
            if self.fact(_STARTERS_ADDED) is not None:
                return
            for document in starters:
                exchange.take_in(self, exchange.plan(self, document), {})
            now = stamp(datetime.now(UTC))
            self.keep_fact(_STARTERS_ADDED, now)
            self.keep_fact(_BEGUN, now)

    def fact(self, name: str) -> str | None:
        """Return what the library says of itself under this name, or None."""
        found = self._file.row("SELECT content FROM facts WHERE name = ?", [name])
        return None if found is None else str(found[0])

    def keep_fact(self, name: str, content: str) -> None:
        """Keep what the library says of itself under this name, in place of what it said before."""
        with self._file.transaction():
            self._file.run("DELETE FROM facts WHERE name = ?", [name])
            self._file.run("INSERT INTO facts (name, content) VALUES (?, ?)", [name, content])

    def transaction(self) -> AbstractContextManager[None]:
        """Do several changes as one: all of them are kept or none."""
        return self._file.transaction()

    def snapshot(self) -> AbstractContextManager[None]:
        """Read several things as they stand at one instant, whatever other windows write."""
        return self._file.snapshot()

    def others_wrote(self) -> int:
        """Return a number that changes whenever another window has written to the file."""
        return self._file.others_wrote()

    def faults(self) -> list[str]:
        """Read the whole file and return what is wrong with it; empty if it is sound."""
        return self._file.faults()

    def rebuild_lists(self) -> None:
        """Work out again what lists are read from, out of revisions and entries."""
        with self._file.transaction():
            self.deck_shelf.rebuild_lists()
            self.cartridge_shelf.rebuild_lists()
            self.log.rebuild_lists()

    def back_up(self, now: datetime | None = None) -> Backup:
        """Make a dated backup beside the library."""
        return backups.keep_copy(self._file, now)


def _keep_older(file: SqliteFile, _version: int) -> None:
    backups.keep_copy(file)


def _light_of_deck(deck: Deck) -> tuple[str, str, str]:
    return deck.name, deck.owner_reference, deck.arm.kind.value


def _light_of_cartridge(cartridge: Cartridge) -> tuple[str, str, str]:
    return cartridge.name, "", cartridge.stylus.value


def _checked(path: Path | str) -> Path:
    try:
        return Path(os.path.realpath(Path(path).expanduser()))
    except (ValueError, RuntimeError, OSError) as error:  # a NUL, a home that is not there
        raise LibraryProblem(
            ProblemKind.NOT_A_LIBRARY,
            f"The path {str(path)!r} can't be that of a file.",
            "Check it for a slip.",
        ) from error


def _make_default_folder(place: Path) -> None:
    if place == Path(os.path.realpath(default_library_path())):
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise problems.of_os_error(error, place) from error


def _is_folder(folder: Path) -> bool:
    try:
        return folder.is_dir()
    except OSError:
        return False


def _has_nothing(place: Path) -> bool:
    try:
        return not place.exists() or (place.is_file() and place.stat().st_size == 0)
    except OSError as error:
        raise problems.of_os_error(error, place) from error


def _look_for_traces(place: Path, *, begin_anew: bool) -> None:
    """Refuse to begin where a library must have been: a new one would hide that it is gone."""
    log = companion(place)
    has_log = log.exists() and log.stat().st_size > 0
    if begin_anew:
        if has_log:
            backups.set_aside(place)
        return
    if has_log or backups.backups_of(place):
        raise LibraryProblem(
            ProblemKind.VANISHED,
            f"There is no library at {place} any more, but traces of one lie beside it.",
            "Bring the file back, restore the newest backup, or begin a new library there.",
            place,
        )
