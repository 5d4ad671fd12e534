"""Help: keys, the words of the trade, what to do without an instrument, about the program."""

__all__ = [
    "help_page",
]
