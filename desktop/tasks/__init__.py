"""Background work: in threads, or between two events."""

__all__ = [
    "background_task",
    "backup_keeper",
    "blocking_task",
    "change_watch",
    "deferred_build",
    "draft_keeper",
    "fitting_controller",
    "garbage_collector",
    "housekeeping",
    "preload",
]
