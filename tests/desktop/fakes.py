"""Stand-ins for what a person would otherwise answer by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that was told."""

    title: str
    sentence: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing that was asked."""

    title: str
    sentence: str
    choices: tuple[str, ...]


@dataclass(slots=True)
class RecordingMessages:
    """Keeps what is told and asked; answers come from lists laid out beforehand.

    A question nobody laid an answer out for fails the test: a dialog would hang there.
    """

    told: list[Told] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)
    answers: list[int | None] = field(default_factory=list)
    files: list[Path | None] = field(default_factory=list)
    file_questions: list[tuple[str, Path, str]] = field(default_factory=list)

    def tell(self, title: str, sentence: str, remedy: str = "") -> None:
        self.told.append(Told(title, sentence, remedy))

    def ask(self, title: str, sentence: str, choices: Sequence[str]) -> int | None:
        self.asked.append(Asked(title, sentence, tuple(choices)))
        assert self.answers, f"nobody laid out an answer to: {sentence}"
        return self.answers.pop(0)

    def file_to_open(self, title: str, start: Path, kinds: str) -> Path | None:
        return self._file(title, start, kinds)

    def file_to_save(self, title: str, start: Path, kinds: str) -> Path | None:
        return self._file(title, start, kinds)

    def _file(self, title: str, start: Path, kinds: str) -> Path | None:
        self.file_questions.append((title, start, kinds))
        assert self.files, f"nobody laid out a file for: {title}"
        return self.files.pop(0)

    @property
    def sentences(self) -> list[str]:
        return [told.sentence for told in self.told]
