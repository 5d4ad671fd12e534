"""What a recording of a test record tells, without and within the window."""

__all__ = [
    "arguments",
    "command",
]
