"""What falls due on a deck, and why."""

__all__ = [
    "due",
    "gathering",
    "model",
    "search",
    "service_due",
    "stylus_wear",
]
