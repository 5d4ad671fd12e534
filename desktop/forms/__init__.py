"""A form for any model."""
