"""The user interface: shows what the core computes and passes on what a person types."""
