"""Pure functions of the nine steps: floats and arrays in, small frozen dataclasses out.

Deck axes, seen from above with the person in front: x to the right, y to the back, z up.
"""
