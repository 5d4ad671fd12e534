"""Start-up, the one window, and what belongs to no screen."""

__all__ = [
    "app",
    "command_line",
    "qt_loading",
]
