"""What follows from the masses, the suspension, the screws and the load: figures and advice.

All of it is advice: none of these figures keeps a cartridge from being mounted.
"""

from __future__ import annotations

from typing import Final

from core.estimation import Estimate
from core.fitting import Figure
from core.language import Message, Quantity, message
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
from core.records import Cartridge, ComplianceKind, Deck, Generator, Mounting

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

    def __init__(self, deck: Deck, cartridge: Cartridge, head: Estimate) -> None:
        self.deck, self.cartridge, self.head = deck, cartridge, head
        self.figures: list[Figure] = []
        self.notes: list[Message] = []
        self._masses()
        self._resonance()
        self._screws()
        self._load()

    def _masses(self) -> None:
        arm = self.deck.arm
        half = self.head.half_width() or None
        moving = moving_mass(self.deck, self.head.value)
        low, high = message("mount.figure.balance_from"), message("mount.figure.balance_to")
        self.figures += [
            Figure("head_mass", message("mount.figure.head_mass"), self.head.value, "g", 2, half),
            Figure("moving_mass", message("mount.figure.moving_mass"), moving, "g", 1, half),
            Figure("balance_from", low, arm.lightest_cartridge_g, "g", 1),
            Figure("balance_to", high, arm.heaviest_cartridge_g, "g", 1),
        ]

    def _resonance(self) -> None:
        compliance = compliance_of(self.cartridge)
        if compliance is None:
            self.notes.append(message("mount.note.compliance_unknown"))
            return
        mass = moving_mass(self.deck, self.head.value)
        span = resonance_span_hz(mass, compliance)
        to_add = mass_to_add_g(mass, compliance.middle)
        self.figures += [
            Figure(
                "resonance",
                message("mount.figure.resonance"),
                span.middle,
                "Hz",
                decimals=1,
                half_width=(span.high - span.low) / 2,
                target=AIM_HZ,
                tolerance=(GOOD_HIGH_HZ - GOOD_LOW_HZ) / 2,
                note=message("mount.figure.advice_only"),
            ),
            Figure("mass_to_add", message("mount.figure.mass_to_add"), to_add, "g", 1),
        ]
        if not GOOD_LOW_HZ <= span.middle <= GOOD_HIGH_HZ:
            self.notes.append(
                message(
                    "mount.note.resonance",
                    side="low" if span.middle < GOOD_LOW_HZ else "high",
                    low=Quantity(span.low, decimals=1),
                    high=Quantity(span.high, "Hz", 1),
                    mass=Quantity(abs(to_add), "g", 1),
                )
            )
        if not self.deck.arm.is_pivoted:
            self.notes.append(message("mount.note.more_sideways"))

    def _screws(self) -> None:
        choice = screw_choice(self.deck, self.cartridge)
        if choice is None:
            return
        label = message("mount.figure.screw_needed")
        self.figures.append(Figure("screw_needed", label, choice.needed_mm, "mm", 1))
        if choice.stock_mm is None:
            least, most = Quantity(choice.needed_mm, decimals=1), Quantity(choice.most_mm, "mm", 1)
            self.notes.append(message("mount.note.no_screw", least=least, most=most))
            return
        label = message("mount.figure.screw_stock")
        self.figures.append(Figure("screw_stock", label, choice.stock_mm, "mm", 0))

    def _load(self) -> None:
        cartridge, amplifier = self.cartridge, self.deck.amplifier
        if cartridge.generator is not Generator.MOVING_MAGNET:
            return
        ratio = amplifier.input_kohm / cartridge.load_kohm
        if not 0.9 <= ratio <= 1.1:
            has, wants = (Quantity(of, "kΩ") for of in (amplifier.input_kohm, cartridge.load_kohm))
            self.notes.append(message("mount.note.input_resistance", has=has, wants=wants))
        if self.deck.arm.cable_pf is None or amplifier.input_pf is None:
            return
        total = total_capacitance_pf(self.deck.arm.cable_pf, amplifier.input_pf)
        self.figures.append(Figure("load", message("mount.figure.load"), total, "pF", 0))
        least, most = cartridge.load_min_pf, cartridge.load_max_pf
        low, high = least or 0.0, most if most is not None else float("inf")
        verdict = judge_capacitance(total, low, high)
        if verdict is not LoadVerdict.INSIDE:
            edge, allowed = (
                ("least", least) if verdict is LoadVerdict.TOO_LITTLE else ("most", most)
            )
            load, allows = Quantity(total, "pF"), Quantity(allowed or 0.0, "pF")
            self.notes.append(message("mount.note.load", edge=edge, load=load, allowed=allows))
        if cartridge.inductance_mh and total > 0:
            peak = load_resonance_khz(cartridge.inductance_mh, total)
            label = message("mount.figure.load_peak")
            self.figures.append(Figure("load_peak", label, peak, "kHz", 1))


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
