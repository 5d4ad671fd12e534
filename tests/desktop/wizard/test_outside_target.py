"""What passes with a figure off its target is amber, with the word, wherever it is shown."""

from __future__ import annotations

import pytest

from core.fitting import QualifiedPass, Verdict
from core.paper.bench_content import bench_content
from core.store import Library
from desktop.widgets import theme
from desktop.widgets.verdict_badge import Badge
from desktop.widgets.verdict_signs import sign_colour
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import FittingBench, Opener, step_page, steps_told
from tests.examples import cartridge, deck


@pytest.fixture
def bench(library: Library) -> FittingBench:
    """A cartridge so supple that it resonates at 4.6 Hz on this arm; 8 to 12 are wanted."""
    supple = cartridge(compliance=45.0)
    return FittingBench(library, deck(arm={"effective_mass_g": 20.0}), supple)


def test_mounted_outside_its_target_says_so_on_the_page_in_the_rail_and_in_the_summary(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    wizard = open_wizard()
    wizard.go("mount")
    page = step_page(wizard)
    assert (
        "Acceptable, outside target"
        in page.readout.accessibleName() + page.readout.accessibleDescription()
    )
    signs = {badge.sign for badge in page.findChildren(Badge)}
    assert signs <= set(QualifiedPass)
    assert wizard.rail.buttons["mount"].state is QualifiedPass.DONE
    assert "Done, outside target" in wizard.rail.buttons["mount"].accessibleName()
    wizard.go("summary")
    summary = wizard.page
    assert isinstance(summary, SummaryPage)
    row = next(text for text in steps_told(summary) if "Mount" in text)
    assert "Acceptable, outside target" in row
    assert "4,6" in row


@pytest.mark.parametrize("look", [theme.LIGHT, theme.DARK])
def test_it_is_amber_and_never_the_green_of_good(look: theme.Appearance) -> None:
    left = QualifiedPass.LEFT_AS_SET  # inside its target: as what is left as found
    assert sign_colour(look, left) == sign_colour(look, Verdict.LEFT_AS_FOUND)
    for sign in set(QualifiedPass) - {left}:
        assert sign_colour(look, sign) == sign_colour(look, Verdict.READ_AGAIN)
        assert sign_colour(look, sign) != sign_colour(look, Verdict.GOOD)


def test_the_bench_sheet_says_it_too(bench: FittingBench) -> None:
    bench.mount()
    content = bench_content(bench.controller.journey)
    (mount,) = (step for step in content.steps if "Mount" in step.title)
    assert "Acceptable, outside target" in mount.verdict
