"""What is read in the example fitting of the README's pictures; all of it is invented."""

from __future__ import annotations

from typing import Any, Final

from core.physics.alignment_solutions import lofgren_a_nulls
from core.physics.arm_geometry import PivotedArm, tracking_error_deg
from core.physics.groove_radii import GROOVES_1958

Read = dict[str, Any]


def bubble(direction: str, divisions: float) -> Read:
    """Return what a bubble level shows along one direction."""
    return {"way": "bubble", "direction": direction, "divisions": divisions}


def weighed(downforce_gf: float) -> Read:
    """Return what the downforce scale shows."""
    return {"way": "scale", "downforce_gf": downforce_gf}


def heights(front_mm: float, rear_mm: float) -> Read:
    """Return two heights of the arm tube above the record."""
    return {"way": "two heights", "front_mm": front_mm, "rear_mm": rear_mm, "spacing_mm": 180.0}


def gaps(left_mm: float, right_mm: float) -> Read:
    """Return the gaps between head and record on both sides."""
    return {"way": "gaps", "left_mm": left_mm, "right_mm": right_mm}


def protractor(slide_mm: float, twist_deg: float) -> Read:
    """Return what the example arm shows so far off Löfgren A for 222 mm."""
    nulls = lofgren_a_nulls(GROOVES_1958)
    arm = PivotedArm(222.0, 239.296 + slide_mm, 22.986 + twist_deg)
    inner, outer = tracking_error_deg(arm, [nulls.inner_mm, nulls.outer_mm])
    return {
        "way": "landing and angles",
        "landing_mm": slide_mm,
        "inner_deg": round(float(inner), 2),
        "outer_deg": round(float(outer), 2),
    }


def strobe(drifted_bars: float) -> Read:
    """Return half a minute of a strobe disc, the bars gone against the platter or standing."""
    return {
        "way": "strobe",
        "speed_rpm": 33.333333,
        "direction": "against" if drifted_bars else "standing",
        "drifted_bars": drifted_bars,
        "seconds": 30.0,
        "minutes_running": 15.0,
    }


CHECKED: Final[Read] = {
    "way": "checklist",
    "amplifier_off": True,
    "guard_on": True,
    "arm_locked": True,
    "screws_snug": True,
    "white_lead": True,
    "blue_lead": True,
    "red_lead": True,
    "green_lead": True,
}
LEVEL: Final = [bubble("front-back", 0.0), bubble("left-right", 0.0)]
READINGS: Final[dict[str, list[Read]]] = {
    "level": [bubble("front-back", 8.0), bubble("left-right", 0.0), *LEVEL],
    "mount": [CHECKED],
    "rough_downforce": [weighed(4.0), weighed(2.03)],
    "arm_height": [heights(23.5, 27.0), heights(22.75, 22.75)],
    "alignment": [protractor(1.2, 0.0), protractor(0.0, 0.0)],
    "tilt": [gaps(2.4, 2.0), gaps(2.2, 2.2)],
    "skating": [{"way": "setting", "setting": 2.0}],
    "final_downforce": [weighed(2.01)],
    "speed": [strobe(30.0), strobe(0.0)],
}
