"""Figures and advice from the masses, the suspension, the screws and the load.

All of it is advice: none of these figures keeps a cartridge from being mounted.
"""

from __future__ import annotations

from typing import Final

from core.estimation import Estimate
from core.fitting import Figure
from core.language import Message, Quantity, message
from core.physics.loading import (
    COIL_LOAD_MULTIPLE,
    LoadVerdict,
    gain_for_output_db,
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
    resonance_hz,
    resonance_span_hz,
)
from core.records import Cartridge, ComplianceKind, Deck, Generator
from core.steps.shared import screw_choice

_SAMPLE_SPREAD: Final = 0.1
"""Relative spread of compliance between samples: our allowance, no source."""


_COIL_LOAD_SHARE: Final = 0.5
"""Allowed relative deviation of a load from the maker's value: our allowance."""

_GAIN_ROOM_DB: Final = 8.0
"""Allowed deviation of the gain from the usual; a volume control compensates; our allowance."""

_NO_MASS_G: Final = 0.05
"""Smaller masses are shown as 0.0 g."""


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
        self.reach: Message | None = None
        """A partial change toward 10 Hz, if not all of it is possible; None otherwise."""
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
        wanted = mass_to_add_g(mass, compliance.middle)
        to_add = self._that_balances(wanted)
        label = message("mount.figure.mass_to_add")
        if abs(to_add - wanted) > _NO_MASS_G:
            label = message("mount.figure.mass_that_balances")
            self.reach = self._reach(wanted, to_add, resonance_hz(mass + to_add, compliance.middle))
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
            Figure("mass_to_add", label, to_add, "g", 1),
        ]
        if not GOOD_LOW_HZ <= span.middle <= GOOD_HIGH_HZ:
            side = "low" if span.middle < GOOD_LOW_HZ else "high"
            low, high = Quantity(span.low, decimals=1), Quantity(span.high, "Hz", 1)
            if self.reach is None:
                grams = Quantity(abs(to_add), "g", 1)
                said = message("mount.note.resonance", side=side, low=low, high=high, mass=grams)
            else:
                said = message(
                    "mount.note.resonance_limited", side=side, low=low, high=high, reach=self.reach
                )
            self.notes.append(said)
        if not self.deck.arm.is_pivoted:
            self.notes.append(message("mount.note.more_sideways"))

    def _that_balances(self, wanted_g: float) -> float:
        """Return the part of a change at the head that the counterweight can balance.

        No more can come off than hardware and headshell weigh.
        """
        arm, head = self.deck.arm, self.head.value
        loose = self.cartridge.hardware_g + arm.headshell_mass_g
        least = max(arm.lightest_cartridge_g - head, -loose)
        most = max(arm.heaviest_cartridge_g - head, least)
        return max(least, min(most, wanted_g))

    def _reach(self, wanted_g: float, to_add_g: float, then_hz: float) -> Message:
        more = wanted_g > 0.0
        wanted, mass = Quantity(abs(wanted_g), "g", 1), Quantity(abs(to_add_g), "g", 1)
        if to_add_g * wanted_g < _NO_MASS_G * abs(wanted_g):
            return message("mount.note.no_reach", way="more" if more else "less", wanted=wanted)
        return message(
            "mount.note.reach",
            way="more" if more else "less",
            wanted=wanted,
            mass=mass,
            then=Quantity(then_hz, "Hz", 1),
        )

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
            self._coil_load()
            self._coil_gain()
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

    def _coil_load(self) -> None:
        """Compare the load of a moving coil, in ohms, with the wanted one."""
        wanted, has = self.cartridge.load_ohm, self.deck.amplifier.coil_input_ohm
        if has is not None:
            tolerance = None if wanted is None else _COIL_LOAD_SHARE * wanted
            label = message("mount.figure.coil_load")
            figure = Figure("coil_load", label, has, "Ω", 0, target=wanted, tolerance=tolerance)
            self.figures.append(figure)
            if wanted is not None and figure.is_outside:
                side = "low" if has < wanted else "high"
                self.notes.append(
                    message(
                        "mount.note.coil_load",
                        side=side,
                        has=Quantity(has, "Ω"),
                        wants=Quantity(wanted, "Ω"),
                    )
                )
        elif wanted is not None:
            self.notes.append(message("mount.note.coil_input", wants=Quantity(wanted, "Ω")))
        coil = self.cartridge.coil_ohm
        if wanted is None and coil is not None:
            least = COIL_LOAD_MULTIPLE * coil
            enough = "unknown" if has is None else "no" if has < least else "yes"
            self.notes.append(
                message(
                    "mount.note.coil_rule",
                    enough=enough,
                    coil=Quantity(coil, "Ω"),
                    least=Quantity(least, "Ω"),
                )
            )

    def _coil_gain(self) -> None:
        """Compare the gain with the one that a moving coil's output needs."""
        output, gain = self.cartridge.output_mv, self.deck.amplifier.coil_gain_db
        if output is None:
            return
        wanted = gain_for_output_db(output)
        about, said = Quantity(wanted, "dB", 0), Quantity(output, "mV")
        if gain is None:
            self.notes.append(message("mount.note.coil_gain_unknown", output=said, wanted=about))
            return
        label = message("mount.figure.coil_gain")
        figure = Figure("coil_gain", label, gain, "dB", 0, target=wanted, tolerance=_GAIN_ROOM_DB)
        self.figures.append(figure)
        if figure.is_outside:
            side = "low" if gain < wanted else "high"
            self.notes.append(
                message(
                    "mount.note.coil_gain",
                    side=side,
                    gain=Quantity(gain, "dB", 0),
                    output=said,
                    wanted=about,
                )
            )
