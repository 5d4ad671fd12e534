"""Charts, instruments and sheets of paper as data, without a screen.

- :mod:`core.drawing.roles`: what a mark stands for or is made of.
- :mod:`core.drawing.marks`: geometric marks in millimetres: lines, areas, circles, words.
- :mod:`core.drawing.drawing`: a size and marks: a drawn instrument.
- :mod:`core.drawing.words_apart`: where the words of a chart stand so that none covers another.
- :mod:`core.drawing.chart`: axes and marks bound to data: a chart.
"""

__all__ = [
    "chart",
    "drawing",
    "marks",
    "parts",
    "roles",
    "words_apart",
]
