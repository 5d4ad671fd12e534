"""Charts on the screen, and the painter of geometric marks."""

__all__ = [
    "chart",
    "instrument_view",
    "mark_painter",
    "small_chart",
]
