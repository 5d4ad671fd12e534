"""Figures that are found in a file: the log keeps the figures and the name, not the file."""

from __future__ import annotations

from collections.abc import Generator
from pathlib import Path
from typing import Any, ClassVar, Self

from pydantic import Field

from core.records.base import FrozenModel


class FileFigures(FrozenModel):
    """The base of a field that is filled from a file; a subclass adds the figures found there.

    A form reads the file in a thread, so that ``assess`` stays cheap and a stored reading needs no
    file.
    """

    ENDINGS: ClassVar[tuple[str, ...]]
    """Of the files that hold them, without the point."""

    file: str = Field(max_length=255, title="File", description="Its name, without the folder.")

    @classmethod
    def read(cls, path: Path) -> Generator[float, None, Self]:
        """Yield the share read so far now and then, and return the figures.

        Between two shares the reading may be given up. Raises OSError, ValueError with words that
        follow the field's name (``holds no sound``), or ``core.language.ToldProblem``.
        """
        raise NotImplementedError

    def told(self) -> tuple[Any, ...]:
        """Return messages that say what the file holds and what is wrong with it."""
        return ()

    def __str__(self) -> str:
        return self.file
