"""The log replayed: where every step stands, and what a fitting comes to."""
