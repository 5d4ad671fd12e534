"""True-scale drawings and sheets as data in millimetres; nothing here knows of a screen.

- :mod:`core.paper.sheet`: paper, its marks and its check lines.
- :mod:`core.paper.fitting_sheets`, :mod:`core.paper.strobe_disc`: lengths that must be true.
- :mod:`core.paper.bench_sheet`: what was done and found, for the deck's owner.
- :mod:`core.paper.check_lines`: check lines, and what follows from measuring them.
"""

__all__ = [
    "bench_sheet",
    "check_lines",
    "customer_sheet",
    "due_sheet",
    "fitting_sheets",
    "history_sheet",
    "kept_pictures",
    "letterhead",
    "lettering",
    "picture_pages",
    "plan_sheet",
    "printer_scale",
    "sheet",
    "strobe_disc",
]
