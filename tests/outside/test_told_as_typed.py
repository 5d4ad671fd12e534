"""A side chosen in a form is the side that the record shows, and the one that is then told.

Each case is read off a sketch by hand (derived): what stands there, how it is kept, how it reads.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from core.fitting import ReadingTaken
from core.workflow.descriptions import described
from tests.outside.told import pinned, said, told

BANDS = {
    "way": "test bands",
    "left_band_left_db": 0.0,
    "left_band_right_db": -25.0,
    "right_band_right_db": 0.0,
    "right_band_left_db": -25.0,
}
LANDED = {"way": "landing and angles", "landing_mm": 1.5, "inner_deg": 1.0, "outer_deg": 1.0}
PATH = {"way": "path", "inner_landing_mm": 1.0, "outer_landing_mm": 1.0, "head_deg": 1.0}


@pytest.mark.parametrize(
    ("step", "reading", "field", "above", "below"),
    [
        # The bubble rises: it stands toward the high end, and the marked one counts upward.
        ("level", {"way": "bubble"}, "divisions", "toward the marked end", "toward the other end"),
        ("level", {"way": "inclinometer"}, "angle_deg", "marked end high", "other end high"),
        # A straightedge is propped up at its low end.
        ("level", {"way": "ruler"}, "gap_mm", "at the unmarked end", "at the marked end"),
        ("rough_downforce", {"way": "scale", "downforce_gf": 2.0}, "pan_height_mm",
         "above the record", "below the record"),
        ("arm_height", {"way": "tube angle"}, "pitch_deg", "rear high", "rear low"),
        ("alignment", LANDED, "landing_mm", "beyond the mark", "short of the mark"),
        ("alignment", LANDED, "inner_deg", "turned out, away from the spindle",
         "turned in, toward the spindle"),
        ("alignment", PATH, "inner_landing_mm", "ahead of the line", "behind the line"),
        ("tilt", BANDS, "setting_deg", "left side higher", "right side higher"),
        ("tilt", BANDS, "shim_mm", "under the left screw", "under the right screw"),
    ],
)  # fmt: skip # rows of a table
def test_the_record_shows_the_side_that_was_chosen(
    step: str, reading: dict[str, Any], field: str, above: str, below: str
) -> None:
    for value, this, other in ((1.25, above, below), (-1.25, below, above)):
        kept = ReadingTaken(step=step, reading={**reading, field: value})
        text = said(described(kept)).replace("\u00a0", "")
        assert re.search(rf"1\.25\S* {this}", text), text
        assert not re.search(rf"1\.25\S* {other}", text), text


@pytest.mark.parametrize(
    ("step", "reading", "headline"),
    [
        # The rear of the tube high by 1 degree is told as high.
        ("arm_height", {"way": "tube angle", "pitch_deg": 1.0}, "high"),
        ("arm_height", {"way": "tube angle", "pitch_deg": -1.0}, "low"),
    ],
)
def test_the_side_that_was_chosen_is_the_side_told(
    step: str, reading: dict[str, Any], headline: str
) -> None:
    answer = told(step, reading, on=pinned(bench={"has_inclinometer": True}))
    assert headline in said(answer.headline)
