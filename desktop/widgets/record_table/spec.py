"""The specification of a record table."""

from __future__ import annotations

from dataclasses import dataclass

from core.language import Text
from desktop.widgets.record_table.rows import Column


@dataclass(frozen=True, slots=True)
class RowAction:
    """A button under a table."""

    key: str  # reported by action_chosen
    words: Text  # on the button, and said by a screen reader
    hint: Text
    least: int = 1  # how many rows must be picked for it; 0 and None for a action that needs none
    most: int | None = 1
    # Whether it needs one that is archived, or one that is not; None where that makes no difference
    archived: bool | None = None


@dataclass(frozen=True, slots=True)
class Chip:
    """A filter that is on or off."""

    key: str  # what a listing narrows to, as its find names it
    words: Text
    hint: Text


@dataclass(frozen=True, slots=True)
class TableSpec:
    """What one table contains."""

    name: Text  # for screen readers, and in the filter's hint: "decks"
    columns: tuple[Column, ...]  # the table's columns and the buttons under it
    actions: tuple[RowAction, ...]
    empty: Text  # said while there is nothing on the table: what it is for and how to fill it
    # Whether rows can be archived, so that there is a box to show those too
    has_archive: bool = False
    # What stands on a table where the same words may be found; empty if there is none
    other_table: Text = ""
    chips: tuple[Chip, ...] = ()
    # Under which the columns chosen are remembered; where it is empty none can be chosen
    key: str = ""
    # Whether the first row is picked as long as nobody has picked any
    picks_first: bool = True
