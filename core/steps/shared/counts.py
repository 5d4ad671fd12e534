"""How often something is to be done, as a message."""

from core.language import Message, message


def times(count: int) -> Message:
    """Return a count in words: once, twice, three times."""
    return message("common.times", count=count)
