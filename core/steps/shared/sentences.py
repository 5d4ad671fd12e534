"""Messages that several steps use."""

from core.language import Expectation, Message, Quantity, Series, Value, message


def times(count: int) -> Message:
    """Return a count in words: once, twice, three times."""
    return message("common.times", count=count)


def sentences(first: Message, second: Message) -> Message:
    """Return a message of two sentences, one after the other."""
    return message("common.sentences", first=first, second=second)


def method_of(*ways: Message) -> Message | None:
    """Return the ways of reading as one message, empty with none."""
    return message("common.listed", items=Series(ways, ",")) if ways else None


def directed(
    said: Value, value: float, ways: tuple[Message, Message] | None, decimals: int | None
) -> Value:
    """Return a value without its sign, followed by its direction; 0 has none.

    ``ways`` are the words above zero and below; None leaves the value unchanged. A rough prediction
    has no direction.
    """
    if isinstance(said, Expectation) and said.is_rough:
        return said
    if ways is None or not round(value, 2 if decimals is None else decimals):
        return said
    return message("common.directed", value=said, way=ways[0 if value > 0.0 else 1])


def amount(value: float, unit: str, decimals: int, ways: tuple[Message, Message]) -> Value:
    """Return a number as an amount with its direction in words: ``0.3° turned out``."""
    return directed(Quantity(abs(value), unit, decimals), value, ways, decimals)
