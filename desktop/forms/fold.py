"""Which fields of a form lie out of sight, with all that the form holds."""

from __future__ import annotations

from collections.abc import Callable

from pydantic import BaseModel


class Fold:
    """One for a whole form: what is made later folds as the rest does.

    ``details`` names the fields of a model that most people can leave as they are. A form that has
    a fold makes a field only once it is in sight.
    """

    def __init__(self, details: Callable[[type[BaseModel]], frozenset[str]]) -> None:
        self._details = details
        self.away = False
        """Whether the details are out of sight."""

    def aside(self, model: type[BaseModel]) -> frozenset[str]:
        """Return the names of a model's fields that are out of sight now."""
        return self._details(model) if self.away else frozenset()
