"""A long list to filter, sort and select from."""
