"""Puts sheets of :mod:`core.paper` on the screen, into PDF files and on printers."""

__all__ = [
    "arguments",
    "command",
    "leaving",
    "of_deck",
    "paper_button",
]
