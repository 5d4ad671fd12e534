"""Replay of the log: the state of every step, and the summary of a fitting."""
