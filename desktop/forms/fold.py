"""Which fields of a form are folded away."""

from __future__ import annotations

from collections.abc import Callable

from pydantic import BaseModel


class Fold:
    """One fold for a whole form, including parts made later.

    ``details`` names the fields of a model that most people can leave as they are. A form with a
    fold creates a field's editor only once it is visible.
    """

    def __init__(self, details: Callable[[type[BaseModel]], frozenset[str]]) -> None:
        self._details = details
        self.away = False
        """Whether the details are folded away."""

    def aside(self, model: type[BaseModel]) -> frozenset[str]:
        """Return the names of a model's fields that are folded away now."""
        return self._details(model) if self.away else frozenset()
