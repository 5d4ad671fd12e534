"""What runs beside the window or between two events."""
