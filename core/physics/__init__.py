"""Pure functions of the nine steps: floats and arrays in, small frozen dataclasses out.

Deck axes, seen from above with the person in front: x to the right, y to the back, z up.
"""

__all__ = [
    "alignment_fit",
    "alignment_move",
    "alignment_reach",
    "alignment_solutions",
    "arm_geometry",
    "arm_pose",
    "break_up",
    "crosstalk",
    "ear_search",
    "feet",
    "floating",
    "friction",
    "groove_radii",
    "hardware",
    "levelling",
    "loading",
    "pitch",
    "plane",
    "resonance",
    "scale",
    "statics",
    "strobe",
    "tilt",
    "tracking_distortion",
]
