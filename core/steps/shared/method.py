"""How the figures of a step were read, for the record."""

from __future__ import annotations

from core.language import Message, Series, Text, message


def method_of(*ways: Message) -> Text:
    """Return the ways of reading as one message, empty with none."""
    return message("common.listed", items=Series(ways, ",")) if ways else ""
