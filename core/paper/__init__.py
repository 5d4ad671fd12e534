"""True-scale drawings and sheets as data in millimetres; nothing here knows of a screen.

- :mod:`core.paper.sheet`: paper, its marks and its check lines.
- :mod:`core.paper.protractor`, :mod:`core.paper.strobe_disc`: drawings whose lengths must be true.
- :mod:`core.paper.bench_sheet`: what was done and found, for the deck's owner.
- :mod:`core.paper.check_lines`: check lines, and what follows from measuring them.
"""
