"""A failure that is told to a person, in the language of the screen."""

from __future__ import annotations

from core.language.messages import Text
from core.language.numbers import Numbers


class ToldProblem(Exception):  # noqa: N818 - it is told to a person, and not only as an error
    """What is wrong and where, and what to do.

    ``sentence`` and ``remedy`` say in English, for a terminal or a log, what ``what`` and ``todo``
    say in any language. Nothing is read for them before they are asked for.
    """

    def __init__(self, what: Text, todo: Text = "") -> None:
        super().__init__(what, todo)
        self.what, self.todo = what, todo

    @property
    def sentence(self) -> str:
        """What is wrong, in English."""
        return Numbers().text(self.what)

    @property
    def remedy(self) -> str:
        """What to do, in English; empty if nothing can be done."""
        return Numbers().text(self.todo)

    def __str__(self) -> str:
        return f"{self.sentence} {self.remedy}".strip()
