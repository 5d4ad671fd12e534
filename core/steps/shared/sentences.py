"""Messages that many steps make."""

from core.language import Message, Series, message


def times(count: int) -> Message:
    """Return a count in words: once, twice, three times."""
    return message("common.times", count=count)


def sentences(first: Message, second: Message) -> Message:
    """Return two whole sentences, one after the other."""
    return message("common.sentences", first=first, second=second)


def method_of(*ways: Message) -> Message | None:
    """Return the ways of reading as one message, empty with none."""
    return message("common.listed", items=Series(ways, ",")) if ways else None
