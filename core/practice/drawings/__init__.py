"""Drawings of the instruments of the practice bench."""
