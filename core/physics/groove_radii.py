"""The modulated part of a record: where the grooves begin and end, and who says so."""

import math
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class GrooveRadii:
    """The innermost and outermost modulated groove that an alignment is to serve.

    Raises
    ------
    ValueError
        Unless 0 < inner < outer, both finite.
    """

    inner_mm: float
    outer_mm: float
    source: str = "your own choice"

    def __post_init__(self) -> None:
        if not 0 < self.inner_mm < self.outer_mm < math.inf:
            raise ValueError(
                f"The inner groove ({self.inner_mm} mm) must lie inside the outer one "
                f"({self.outer_mm} mm), and both above 0."
            )


GROOVES_1958: Final = GrooveRadii(
    60.325, 146.05, "IEC 60098, 1958 edition, both radii (quoted second-hand)"
)
GROOVES_1981: Final = GrooveRadii(
    57.5, 146.05, "inner: DIN 45547:1981; outer: IEC 60098, 1958 edition (quoted second-hand)"
)
GROOVES_1964_1981: Final = GrooveRadii(
    57.5, 146.3, "inner: DIN 45547:1981; outer: IEC 60098 since 1964 (quoted second-hand)"
)
