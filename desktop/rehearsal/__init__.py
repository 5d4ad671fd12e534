"""A whole fitting on a simulated deck, apart from the library."""
