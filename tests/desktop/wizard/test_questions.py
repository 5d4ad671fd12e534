"""A control that does not answer is asked about on the step's page before anything is ordered."""

from __future__ import annotations

from core.fitting import Control, MovePart, ReadingTaken, Verdict
from tests.desktop.kit import FittingBench, Opener, step_page


def test_all_lines_ticked_are_kept_and_one_more_move_is_offered(
    bench: FittingBench, open_wizard: Opener
) -> None:
    bench.mount()
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    bench.move("rough_downforce", MovePart(control=Control.COUNTERWEIGHT, amount=2.0, unit="turns"))
    bench.read("rough_downforce", way="scale", downforce_gf=1.0)
    wizard = open_wizard()
    wizard.go("rough_downforce")
    page = step_page(wizard)
    panel = page.check_panel
    assert panel.isVisible()
    assert page.move_panel.isHidden()
    assert page.status.assessment.verdict is Verdict.READ_AGAIN
    assert not panel.done_button.isEnabled()
    panel.confirm()  # nothing is kept before all is looked at
    for line in panel.lines:
        line.click()
    panel.done_button.click()
    kept = bench.another().fitting.entries[-1].body
    assert isinstance(kept, ReadingTaken)
    assert kept.reading["way"] == "control checked"
    assert panel.isHidden()
    assert page.move_panel.isVisible()
