"""Reads drawings back out of a PDF: what was stroked and filled, in mm from the lower left."""

from __future__ import annotations

import io
import math
import subprocess
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdf
from numpy.typing import NDArray
from pypdf.generic import ContentStream

MM_PER_POINT = 25.4 / 72.0
Matrix = tuple[float, float, float, float, float, float]


@dataclass(frozen=True)
class Stroke:
    """One straight piece that was stroked."""

    x0: float
    y0: float
    x1: float
    y1: float
    width_mm: float

    @property
    def length_mm(self) -> float:
        return math.hypot(self.x1 - self.x0, self.y1 - self.y0)

    @property
    def angle_deg(self) -> float:
        """Direction of the line, 0 to 180."""
        return math.degrees(math.atan2(self.y1 - self.y0, self.x1 - self.x0)) % 180.0

    @property
    def middle(self) -> tuple[float, float]:
        return (self.x0 + self.x1) / 2.0, (self.y0 + self.y1) / 2.0


@dataclass
class Drawing:
    """What one page holds."""

    width_mm: float
    height_mm: float
    strokes: list[Stroke] = field(default_factory=list)
    curves: list[NDArray[np.float64]] = field(default_factory=list)
    """Stroked curves, each a run of points on it, shape (n, 2)."""
    filled: list[NDArray[np.float64]] = field(default_factory=list)
    """Outlines of filled shapes without their words."""


def drawing_of(document: bytes | Path, page: int = 0) -> Drawing:
    data = document.read_bytes() if isinstance(document, Path) else document
    reader = pypdf.PdfReader(io.BytesIO(data), strict=True)
    box = reader.pages[page].mediabox
    return _Reader(Drawing(float(box.width) * MM_PER_POINT, float(box.height) * MM_PER_POINT)).read(
        reader, page
    )


def words_of(document: bytes | Path, page: int = 0) -> str:
    data = document.read_bytes() if isinstance(document, Path) else document
    text = pypdf.PdfReader(io.BytesIO(data), strict=True).pages[page].extract_text()
    for drawn, typed in (("\t", " "), ("\u00a0", " "), ("\ufb01", "fi"), ("\ufb02", "fl")):
        text = text.replace(drawn, typed)
    return " ".join(text.split())


class _Reader:
    def __init__(self, drawing: Drawing) -> None:
        self.drawing = drawing
        self.matrix: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        self.width = 1.0
        self.kept: list[tuple[Matrix, float]] = []
        self.paths: list[list[tuple[float, float]]] = []
        self.is_curved = False

    def read(self, reader: pypdf.PdfReader, page: int) -> Drawing:
        contents = reader.pages[page].get_contents()
        for operands, operator in ContentStream(contents, reader).operations:
            self.take(operator.decode("ascii"), operands)
        return self.drawing

    def take(  # noqa: C901, PLR0912 - one case an operator of the PDF language
        self, operator: str, operands: list[object]
    ) -> None:
        numbers = [float(v) for v in operands if isinstance(v, int | float)]
        match operator:
            case "q":
                self.kept.append((self.matrix, self.width))
            case "Q":
                self.matrix, self.width = self.kept.pop()
            case "cm":
                self.matrix = _times(tuple(numbers), self.matrix)
            case "w":
                self.width = numbers[0]
            case "m":
                self.paths.append([self.at(*numbers)])
            case "l":
                self.paths[-1].append(self.at(*numbers))
            case "c":
                self.is_curved = True
                a, b, c, d = self.paths[-1][-1], *(self.at(*numbers[i : i + 2]) for i in (0, 2, 4))
                for t in np.linspace(0.1, 1.0, 10):
                    s = 1.0 - t
                    x, y = (
                        s**3 * p + 3 * s * s * t * q + 3 * s * t * t * r + t**3 * e
                        for p, q, r, e in zip(a, b, c, d, strict=True)
                    )
                    self.paths[-1].append((x, y))
            case "re":
                x, y, w, h = numbers
                corners = ((x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y))
                self.paths.append([self.at(*corner) for corner in corners])
            case "h" if self.paths:
                self.paths[-1].append(self.paths[-1][0])
            case "S" | "s":
                self.stroke()
            case "f" | "f*" | "b" | "b*" | "B" | "B*":
                self.drawing.filled += [np.array(path) for path in self.paths if len(path) > 2]
                self.clear()
            case "n":
                self.clear()

    def stroke(self) -> None:
        scale = math.sqrt(abs(self.matrix[0] * self.matrix[3] - self.matrix[1] * self.matrix[2]))
        width = self.width * scale * MM_PER_POINT
        for path in self.paths:
            if self.is_curved:
                self.drawing.curves.append(np.array(path))
                continue
            self.drawing.strokes += [Stroke(*start, *end, width) for start, end in pairwise(path)]
        self.clear()

    def clear(self) -> None:
        self.paths = []
        self.is_curved = False

    def at(self, x: float, y: float) -> tuple[float, float]:
        a, b, c, d, e, f = self.matrix
        return (a * x + c * y + e) * MM_PER_POINT, (b * x + d * y + f) * MM_PER_POINT


def _times(first: Matrix, second: Matrix) -> Matrix:
    a, b, c, d, e, f = first
    g, h, i, j, k, m = second
    return (
        a * g + b * i,
        a * h + b * j,
        c * g + d * i,
        c * h + d * j,
        e * g + f * i + k,
        e * h + f * j + m,
    )


@dataclass(frozen=True)
class Raster:
    """A page as a picture: ``dark`` from 0 (paper) to 1 (ink), rows from the top."""

    dark: NDArray[np.float64]
    dots_per_mm: float

    def at(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Return row and column of a place given from the lower left corner."""
        return self.dark.shape[0] - y_mm * self.dots_per_mm, x_mm * self.dots_per_mm


def raster_of(document: Path, folder: Path, page: int = 0, dots_per_inch: int = 600) -> Raster:
    stem = folder / f"raster-{page}"
    number = str(page + 1)
    subprocess.run(
        [
            "pdftoppm",
            "-r",
            str(dots_per_inch),
            "-gray",
            "-f",
            number,
            "-l",
            number,
            "-singlefile",
            str(document),
            str(stem),
        ],
        check=True,
        capture_output=True,
    )
    data = stem.with_suffix(".pgm").read_bytes()
    kind, wide, tall, most, rest = data.split(maxsplit=4)
    assert (kind, most) == (b"P5", b"255")
    width, height = int(wide), int(tall)
    pixels = np.frombuffer(data[-width * height :], dtype=np.uint8).reshape(height, width)
    assert rest is not None
    return Raster(1.0 - pixels.astype(np.float64) / 255.0, dots_per_inch / 25.4)
