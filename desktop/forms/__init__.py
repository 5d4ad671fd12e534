"""Forms built from any model."""
