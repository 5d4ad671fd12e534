"""Whole fittings with no person: the proof that the wizard converges."""
