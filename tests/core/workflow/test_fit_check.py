"""What does not fit is said before anything is touched: which thing, and by how much."""

from __future__ import annotations

from core.language import Numbers
from core.records import Cartridge, Deck
from core.workflow.fit_check import misfits, screws_needed
from tests.examples import cartridge, deck


def said(on: Deck, new: Cartridge) -> list[str]:
    return [Numbers().text(one) for one in misfits(on, new)]


def test_what_fits_is_said_nothing_of_but_its_screws() -> None:
    """Plain holes: 3.0 head + 4.0 lug + 2.0 nut = 9.0 mm; the next stock length is 10 mm."""
    fits = cartridge(mounting="through holes", lug_thickness_mm=4.0, nut_thickness_mm=2.0)
    assert said(deck(), fits) == []
    needed = Numbers().text(screws_needed(deck(), fits))
    assert "10.0\u00a0mm" in needed
    assert "nuts" in needed


def test_a_plug_in_cartridge_does_not_go_on_a_head_with_screws_nor_the_other_way() -> None:
    plug_in = cartridge(mounting="plug-in", hardware_g=0.0)
    (words,) = said(deck(), plug_in)
    assert words.startswith("This does not fit: the cartridge plugs in")
    (words,) = said(deck(head={"kind": "plug-in"}), cartridge())
    assert words.startswith("This does not fit: the cartridge is held by screws")
    assert said(deck(head={"kind": "plug-in"}), plug_in) == []
    assert screws_needed(deck(head={"kind": "plug-in"}), plug_in) is None


def test_a_mass_that_the_counterweight_cant_balance_is_said_with_the_difference() -> None:
    """Arm for 4 to 10 g: 11 g + 1 g hardware are 2.0 g too many; 2 g + 1 g are 1.0 g too few."""
    arm = {"lightest_cartridge_g": 4.0, "heaviest_cartridge_g": 10.0}
    (words,) = said(deck(arm=arm), cartridge(mass_g=11.0, hardware_g=1.0))
    assert "weigh 12.0\u00a0g" in words
    assert "Take 2.0\u00a0g off" in words
    (words,) = said(deck(arm=arm), cartridge(mass_g=2.0, hardware_g=1.0))
    assert "Add 1.0\u00a0g" in words
    assert said(deck(arm=arm), cartridge(mass_g=9.0, hardware_g=1.0)) == []


def test_a_shallow_thread_that_no_stock_screw_suits_is_said() -> None:
    """Head 2.2 mm, thread 1.7 mm: three turns of 0.45 mm are 1.35, so from 3.55 mm; half a turn
    less than the depth is 1.475, so to 3.675 mm: between 3 and 4 mm, which shops stock."""
    on = deck(arm={"headshell_thickness_mm": 2.2})
    (words,) = said(on, cartridge(mounting="tapped", thread_depth_mm=1.7))
    assert "No stock screw" in words
    assert screws_needed(on, cartridge(mounting="tapped", thread_depth_mm=1.7)) is None
