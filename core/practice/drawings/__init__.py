"""Drawings of the instruments of the practice bench."""

__all__ = [
    "bench",
    "head",
]
