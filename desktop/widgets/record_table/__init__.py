"""A long list to filter, sort and pick from."""
