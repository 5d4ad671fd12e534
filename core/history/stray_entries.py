"""Entries rescued from a damaged library without their fitting, as a text for people to read."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from core.fitting import Fitting
from core.history.log_by_day import log_by_day
from core.language import Message, Name, Numbers, message
from core.store.files import PRIVATE, write_whole
from core.store.rescue import Strays


@dataclass(frozen=True, slots=True)
class StrayEntriesFile:
    """Writes the text beside a rescued library, under a name that is free."""

    library: Path
    numbers: Numbers

    def __call__(self, strays: Strays) -> Message:
        """Write the entries and say where they stand; LibraryProblem if the disk refuses."""
        path = _free(self.library)
        lines = (f"{self.numbers.text(line)}\n" for line in _lines(strays))
        write_whole(path, lines, PRIVATE)
        count = sum(map(len, strays.values()))
        return message("storage.rescue.strays", count=count, path=Name(str(path)))


def _lines(strays: Strays) -> Iterator[Message | str]:
    yield message("history.strays.heading")
    for fitting_id, entries in strays.items():
        yield ""
        yield message("history.strays.fitting", number=Name(fitting_id))
        # Deck and cartridge are not known: only the log is read.
        fitting = Fitting(
            id=fitting_id,
            deck_id="",
            deck_revision=0,
            cartridge_id="",
            cartridge_revision=0,
            started_at=entries[0].at,
            entries=tuple(entries),
        )
        for day in log_by_day(fitting):
            for step in day.steps:
                for line in step.lines:
                    at = line.at.astimezone().isoformat(" ", "seconds")
                    yield message(
                        "history.strays.line",
                        counts="counts" if line.counts else "left_out",
                        at=Name(at),
                        who=Name(line.who),
                        step=step.title,
                        words=line.words,
                    )


def _free(library: Path) -> Path:
    path, number = library.with_name(f"{library.stem} entries.txt"), 1
    while path.exists():
        number += 1
        path = library.with_name(f"{library.stem} entries {number}.txt")
    return path
