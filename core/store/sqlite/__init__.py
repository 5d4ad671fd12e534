"""The storage engine of library files: SQLite, with backups as files beside them."""

__all__ = [
    "address",
]
