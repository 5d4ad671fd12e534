"""Widgets shared by several screens."""
