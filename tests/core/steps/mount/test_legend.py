"""No two entries of the resonance chart's legend look alike."""

from __future__ import annotations

from core.drawing.chart import swatch_of
from core.physics.resonance import Span
from core.steps.mount.chart import MountView, draw_mount


def test_the_area_of_the_cartridge_does_not_look_like_the_line_of_the_arm() -> None:
    items = draw_mount(MountView(18.0, Span(12.0, 15.0, 18.0))).items
    named = [item for item in items if getattr(item, "label", None) is not None]
    looks = [(swatch_of(item), item.role) for item in named]
    assert len(looks) == len(set(looks))
