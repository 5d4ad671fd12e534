"""What falls due on a deck, and why."""
