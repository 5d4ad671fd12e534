"""Start-up, the one window, and what belongs to no screen."""
