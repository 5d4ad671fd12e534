"""Painting of any chart."""
