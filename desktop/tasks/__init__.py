"""Background work: in threads, or between two events."""
