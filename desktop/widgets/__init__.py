"""Widgets that several screens are made of."""
