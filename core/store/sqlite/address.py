"""A library file as an address."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from core.language import Message
from core.store import file_problems
from core.store.backend import Salvage
from core.store.files import make_private_folder
from core.store.kept_sound import SoundShelf
from core.store.places import default_library_path, network_warning, rehearsal_library_path
from core.store.sqlite.backups import FileBackups
from core.store.sqlite.file import SqliteFile, companion, open_file
from core.store.sqlite.schema import SCHEMA, Schema


@dataclass(frozen=True, slots=True)
class FileAddress:
    """The path of a library file; ``schema`` is other than the current one only in tests."""

    path: Path
    schema: Schema = SCHEMA

    def __str__(self) -> str:
        return str(self.path)

    def resolved(self) -> FileAddress:
        """Return the absolute path without links; raises NOT_A_LIBRARY if it can't be a file's."""
        try:
            return replace(self, path=Path(os.path.realpath(self.path.expanduser())))
        except (ValueError, RuntimeError, OSError) as error:  # a NUL, a home that is not there
            raise file_problems.no_path(self.path) from error

    def open(self, *, read_only: bool, begin_anew: bool, wait_s: float) -> SqliteFile:
        """Open the library file; its folder must exist, except that the default one is created."""
        if not read_only:
            self._make_default_folder()
        if not _is_folder(self.path.parent):
            raise file_problems.missing_folder(self.path)
        if not read_only and _has_nothing(self.path):
            self._look_for_traces(begin_anew=begin_anew)
        file = open_file(
            self.path,
            self.schema,
            read_only=read_only,
            wait_s=wait_s,
            before_migration=self.backups.keep_copy,
        )
        if not read_only:
            self.backups.sweep_up()
        return file

    @property
    def backups(self) -> FileBackups:
        """The backups beside the file."""
        return FileBackups(self.path, self.schema)

    @property
    def sounds(self) -> SoundShelf:
        """The recordings beside the file."""
        return self.backups.shelf

    @property
    def folder(self) -> Path:
        """The folder of the file."""
        return self.path.parent

    def warning(self) -> Message | None:
        """Return a warning if the file lies in a network folder."""
        return network_warning(self.path)

    def is_at(self, path: Path) -> bool:
        """Whether the file at ``path`` is this same library."""
        return path.resolve() == self.path

    def may_be_library(self, path: Path) -> bool:
        """Whether a file is this library or is named like one. The file is not opened."""
        try:
            return path.suffix == self.path.suffix or path.samefile(self.path)
        except OSError:
            return False

    def salvage(self, go_on: Callable[[], bool] = lambda: True) -> Salvage:
        """Return what is readable of a damaged file, without changing it."""
        # Imported here: few libraries are ever damaged.
        from core.store.sqlite.salvage import salvage

        file = open_file(self.path, self.schema, read_only=True)
        try:
            found = salvage(file, go_on)
        finally:
            file.close()
        found.contents = self._contents
        return found

    def _contents(self, hashes: Iterable[str]) -> Iterator[tuple[str, bytes, bytes]]:
        from core.store.sqlite.salvage import contents  # as above

        file = open_file(self.path, self.schema, read_only=True)
        try:
            yield from contents(file, hashes)
        finally:
            file.close()

    def for_rehearsals(self) -> FileAddress:
        """Return the address of a rehearsal library beside this one."""
        return FileAddress(rehearsal_library_path(self.path))

    def _make_default_folder(self) -> None:
        if self.path == Path(os.path.realpath(default_library_path())):
            try:
                make_private_folder(self.path.parent)
            except OSError as error:
                raise file_problems.of_os_error(error, self.path) from error

    def _look_for_traces(self, *, begin_anew: bool) -> None:
        """Refuse to create a library where one must have been: a new one would hide the loss."""
        log = companion(self.path)
        has_log = log.exists() and log.stat().st_size > 0
        if begin_anew:
            if has_log:
                self.backups.set_aside()
            return
        if has_log or self.backups.all():
            raise file_problems.only_traces(self.path)


def _is_folder(folder: Path) -> bool:
    try:
        return folder.is_dir()
    except OSError:
        return False


def _has_nothing(path: Path) -> bool:
    try:
        return not path.exists() or (path.is_file() and path.stat().st_size == 0)
    except OSError as error:
        raise file_problems.of_os_error(error, path) from error
