"""Pictures of decks, cartridges, jobs and fittings: added, looked at, withdrawn."""

__all__ = [
    "page",
]
