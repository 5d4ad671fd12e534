"""A deck's fittings over the years."""
