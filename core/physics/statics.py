"""Downforce: moments about the pivot.

Masses in grams act with one gram-force per gram, so moments are in g mm. Positive moments bring
the head down. The unit of downforce is the gram-force, 9.80665 mN exactly (CGPM 1901).
"""


def downforce_per_mm_gf(counterweight_g: float, length_mm: float) -> float:
    """Change of downforce per millimetre that the counterweight slides forward: W / L.

    Derived; 100 g at 230 mm: 0.4348 gf per mm.
    """
    _above_zero(counterweight_g, length_mm)
    return counterweight_g / length_mm


def counterweight_place_mm(
    head_g: float,
    downforce_gf: float,
    counterweight_g: float,
    length_mm: float,
    bare_arm_moment_g_mm: float = 0.0,
) -> float:
    """Distance of the counterweight's middle behind the pivot.

    `head_g` is cartridge, hardware and headshell, counted at the stylus; `downforce_gf` 0 for a
    floating arm; `bare_arm_moment_g_mm` that of the arm without head and counterweight, positive
    when its front is heavy. Derived: head x L + arm - W x = F L, solved for x.
    """
    _above_zero(counterweight_g, length_mm)
    return ((head_g - downforce_gf) * length_mm + bare_arm_moment_g_mm) / counterweight_g


def downforce_change_of_slide_gf(
    slide_mm: float, head_g: float, length_mm: float, downforce_gf: float = 0.0
) -> float:
    """Change of downforce when the cartridge slides forward (negative: back).

    (F L + m ds) / (L + ds) - F = (m - F) ds / (L + ds), derived; without `downforce_gf` and for
    small slides m ds / L, 0.046 gf for 7 g, 1.5 mm and 230 mm.
    """
    _above_zero(length_mm)
    return (head_g - downforce_gf) * slide_mm / (length_mm + slide_mm)


def downforce_change_of_height_gf(
    stylus_rise_mm: float, arm_mass_g: float, below_pivot_mm: float, length_mm: float
) -> float:
    """Change of downforce when the stylus is held higher, as on a scale's pan above the record.

    The arm's mass is the whole moving arm's, counterweight and cartridge included; `below_pivot_mm`
    is how far its centre of mass lies below the pivot, 0 for an arm balanced at its pivot. Derived,
    small angles: lifting the head by h turns the arm by h / L, which carries a low centre of mass
    forward by z h / L, so that the scale reads M z h / L^2 too much.
    """
    _above_zero(length_mm)
    return arm_mass_g * below_pivot_mm * stylus_rise_mm / length_mm**2


def _above_zero(*values: float) -> None:
    if not all(value > 0.0 for value in values):
        raise ValueError("Masses and lengths must be above zero.")
