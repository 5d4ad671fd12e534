"""The first screen: what is on file, and the ways to start, resume, add and correct."""

__all__ = [
    "backups_page",
    "editor",
    "job_page",
    "jobs_page",
    "screen",
    "start_page",
]
