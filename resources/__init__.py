"""Texts, icons and pictures: own work, read through importlib.resources."""
