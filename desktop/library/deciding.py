"""What a person decides about a record of a document that differs from the library."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from core.store.importing import FieldsChosen, ImportDecision


@dataclass(frozen=True, slots=True)
class Decided:
    """What was decided, and whether it holds for all others that differ."""

    decision: ImportDecision | FieldsChosen
    for_all: bool
