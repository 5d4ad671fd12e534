"""A deck's history: what is due, every quantity over time, what changed, each fitting's entries."""

__all__ = [
    "due_page",
    "history_page",
]
