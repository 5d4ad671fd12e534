"""Any chart painted."""
