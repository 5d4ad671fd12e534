"""What one shelf of the library holds, as data."""

from __future__ import annotations

from dataclasses import dataclass

from desktop.widgets.record_list.rows import Column


@dataclass(frozen=True, slots=True)
class Deed:
    """A button under a shelf.

    Parameters
    ----------
    key
        What :attr:`Shelf.asked` reports.
    words, hint
        On the button, and said by a screen reader.
    least, most
        How many rows must be picked for it; 0 and None for a deed that needs none.
    """

    key: str
    words: str
    hint: str
    least: int = 1
    most: int | None = 1


@dataclass(frozen=True, slots=True)
class ShelfPlan:
    """What one shelf holds.

    Parameters
    ----------
    name
        For screen readers, and in the filter's hint: "decks".
    columns, deeds
        The table's columns and the buttons under it.
    empty
        Said while there is nothing on the shelf: what it is for and how to fill it.
    has_archive
        Whether rows can be archived, so that there is a box to show those too.
    beside
        What stands on a shelf where the same words may be found; empty if there is none.
    """

    name: str
    columns: tuple[Column, ...]
    deeds: tuple[Deed, ...]
    empty: str
    has_archive: bool = False
    beside: str = ""
