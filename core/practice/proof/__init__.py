"""Whole fittings with no person: the proof that the wizard converges."""

__all__ = [
    "closed_loop",
    "many_fittings",
    "table",
]
