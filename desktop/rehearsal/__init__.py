"""A whole fitting on a simulated deck, apart from the library."""

__all__ = [
    "rehearsal_page",
]
