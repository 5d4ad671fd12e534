"""What follows from the masses, the suspension, the screws and the load: figures and advice.

All of it is advice: none of these figures keeps a cartridge from being mounted.
"""

from __future__ import annotations

from typing import Final

from core.estimation import Estimate
from core.fitting import Figure
from core.language import Numbers
from core.physics.hardware import ScrewChoice, screw_into_body, screw_through
from core.physics.loading import (
    LoadVerdict,
    judge_capacitance,
    load_resonance_khz,
    total_capacitance_pf,
)
from core.physics.resonance import (
    AIM_HZ,
    GOOD_HIGH_HZ,
    GOOD_LOW_HZ,
    Span,
    compliance_span,
    mass_to_add_g,
    moving_mass_g,
    resonance_span_hz,
)
from core.records import (
    Cartridge,
    ComplianceKind,
    Deck,
    Generator,
    Mounting,
)

_SAMPLE_SPREAD: Final = 0.1
"""By how much samples of one cartridge differ in compliance: our allowance, no source."""


def moving_mass(deck: Deck, head_g: float) -> float:
    """Return the moving mass in grams with this much cartridge and hardware."""
    arm = deck.arm
    headshell = 0.0 if arm.mass_includes_headshell else arm.headshell_mass_g
    return moving_mass_g(arm.effective_mass_g, head_g, headshell_g=headshell)


def compliance_of(cartridge: Cartridge) -> Span | None:
    """Return the compliance at 10 Hz as a span, µm/mN, or None if the maker says nothing."""
    if cartridge.compliance is None:
        return None
    return compliance_span(
        cartridge.compliance,
        at_100_hz=cartridge.compliance_kind is ComplianceKind.DYNAMIC_100_HZ,
        static=cartridge.compliance_kind is ComplianceKind.STATIC,
        relative_error=_SAMPLE_SPREAD,
    )


class Advice:
    """Figures and notes for one deck and cartridge with one mass at the head."""

    def __init__(self, deck: Deck, cartridge: Cartridge, head: Estimate, numbers: Numbers) -> None:
        self.deck, self.cartridge, self.head, self.numbers = deck, cartridge, head, numbers
        self.figures: list[Figure] = []
        self.notes: list[str] = []
        self._masses()
        self._resonance()
        self._screws()
        self._load()

    def _masses(self) -> None:
        arm = self.deck.arm
        half = self.head.half_width() or None
        self.figures += [
            Figure("head_mass", "Cartridge and hardware", self.head.value, "g", 2, half),
            Figure(
                "moving_mass", "Moving mass", moving_mass(self.deck, self.head.value), "g", 1, half
            ),
            Figure("balance_from", "Lightest that balances", arm.lightest_cartridge_g, "g", 1),
            Figure("balance_to", "Heaviest that balances", arm.heaviest_cartridge_g, "g", 1),
        ]

    def _resonance(self) -> None:
        compliance = compliance_of(self.cartridge)
        if compliance is None:
            self.notes.append(
                "The cartridge's compliance is not known, so its resonance can't be worked out."
            )
            return
        mass = moving_mass(self.deck, self.head.value)
        span = resonance_span_hz(mass, compliance)
        to_add = mass_to_add_g(mass, compliance.middle)
        self.figures += [
            Figure(
                "resonance",
                "Resonance",
                span.middle,
                "Hz",
                decimals=1,
                half_width=(span.high - span.low) / 2,
                target=AIM_HZ,
                tolerance=(GOOD_HIGH_HZ - GOOD_LOW_HZ) / 2,
                note="advice only",
            ),
            Figure("mass_to_add", "Mass to add for 10 Hz", to_add, "g", 1),
        ]
        low, high = self.numbers.plain(span.low, 1), self.numbers.unit(span.high, "Hz", 1)
        if not GOOD_LOW_HZ <= span.middle <= GOOD_HIGH_HZ:
            amount = self.numbers.unit(abs(to_add), "g", 1)
            what = f"{amount} more" if to_add > 0 else f"{amount} less"
            risk = (
                "warps and footfall may shake the arm"
                if span.middle < GOOD_LOW_HZ
                else "it may be heard in the lowest music"
            )
            self.notes.append(
                f"Resonance lies at {low} to {high}, outside 8 to 12 Hz (common practice): {risk}. "
                f"{what} at the head would bring it to 10 Hz. It is advice and stops nothing."
            )
        if not self.deck.arm.is_pivoted:
            self.notes.append(
                "This arm moves more mass sideways than up and down; the resonance is the one up "
                "and down."
            )

    def _screws(self) -> None:
        choice = screw_choice(self.deck, self.cartridge)
        if choice is None:
            return
        self.figures.append(
            Figure("screw_needed", "Screw, at least", choice.needed_mm, "mm", decimals=1)
        )
        if choice.stock_mm is None:
            self.notes.append(
                f"No stock screw fits between {self.numbers.plain(choice.needed_mm, 1)} and "
                f"{self.numbers.unit(choice.most_mm, 'mm', 1)}: take the next longer one and "
                "washers under its head."
            )
            return
        self.figures.append(
            Figure("screw_stock", "Screw to take, M2.5", choice.stock_mm, "mm", decimals=0)
        )

    def _load(self) -> None:
        cartridge, amplifier = self.cartridge, self.deck.amplifier
        if cartridge.generator is not Generator.MOVING_MAGNET:
            return
        ratio = amplifier.input_kohm / cartridge.load_kohm
        if not 0.9 <= ratio <= 1.1:
            self.notes.append(
                f"The input has {self.numbers.unit(amplifier.input_kohm, 'kΩ')}, the cartridge "
                f"asks for {self.numbers.unit(cartridge.load_kohm, 'kΩ')}."
            )
        if self.deck.arm.cable_pf is None or amplifier.input_pf is None:
            return
        total = total_capacitance_pf(self.deck.arm.cable_pf, amplifier.input_pf)
        self.figures.append(Figure("load", "Load, cable and input", total, "pF", decimals=0))
        least, most = cartridge.load_min_pf, cartridge.load_max_pf
        low, high = least or 0.0, most if most is not None else float("inf")
        verdict = judge_capacitance(total, low, high)
        if verdict is not LoadVerdict.INSIDE:
            edge = least if verdict is LoadVerdict.TOO_LITTLE else most
            word = "least" if verdict is LoadVerdict.TOO_LITTLE else "most"
            self.notes.append(
                f"Cable and input load the cartridge with {self.numbers.unit(total, 'pF')}; its "
                f"maker allows {self.numbers.unit(edge or 0.0, 'pF')} at {word}. Treble will "
                "sound different; nothing is harmed."
            )
        if cartridge.inductance_mh and total > 0:
            peak = load_resonance_khz(cartridge.inductance_mh, total)
            self.figures.append(Figure("load_peak", "Electrical resonance", peak, "kHz", 1))


def screw_choice(deck: Deck, cartridge: Cartridge) -> ScrewChoice | None:
    """Return the screw length for this head and body; None for a plug-in cartridge."""
    thickness = deck.arm.headshell_thickness_mm
    if cartridge.mounting is Mounting.THROUGH_HOLES:
        return screw_through(
            thickness, cartridge.lug_thickness_mm, nut_mm=cartridge.nut_thickness_mm
        )
    if cartridge.mounting is Mounting.TAPPED:
        return screw_into_body(thickness, cartridge.thread_depth_mm)
    return None
