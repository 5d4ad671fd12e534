"""What stands at the head of paper that leaves the house: whose it is."""

from __future__ import annotations

import struct
from typing import Annotated, Final

from pydantic import Base64Bytes, Field, ValidationError, field_validator

from core.drawing.marks import Bitmap
from core.language import message
from core.paper.pages import Pages
from core.paper.sheet import PaperProblem
from core.records import FrozenModel
from core.store import Library

_FACT: Final = "letterhead"
LARGEST_LOGO: Final = 400_000
"""Largest size of a stored logo, in bytes."""
_LOGO_MM: Final = (46.0, 18.0)
"""The largest width and height of a logo on paper."""
_PNG: Final = b"\x89PNG\r\n\x1a\n"


class Letterhead(FrozenModel):
    """Name, address and logo of whoever did the work; all of it may be empty."""

    name: Annotated[str, Field(max_length=120)] = Field(
        "", title="Name", description="The shop's name, or your own."
    )
    address: Annotated[str, Field(max_length=400)] = Field(
        "", title="Address", description="Street, town, telephone: a line each."
    )
    logo: Annotated[Base64Bytes, Field(max_length=LARGEST_LOGO)] = b""

    @field_validator("logo")
    @classmethod
    def _is_a_picture(cls, logo: bytes) -> bytes:
        if logo:
            picture_size(logo)
        return logo

    @property
    def is_empty(self) -> bool:
        """Whether name, address and logo are all empty."""
        return not (self.name or self.address or self.logo)


def picture_size(png: bytes) -> tuple[int, int]:
    """Return the width and height of a PNG picture in points; ValueError for anything else.

    Both stand in its first chunk (ISO/IEC 15948, 11.2.2).
    """
    if len(png) < 24 or not png.startswith(_PNG) or png[12:16] != b"IHDR":
        raise ValueError("this is no PNG picture")
    width, height = struct.unpack(">II", png[16:24])
    if not width or not height:
        raise ValueError("this picture has no points")
    return int(width), int(height)


def letterhead_of(library: Library) -> Letterhead:
    """Return what is kept in a library; an empty one if nothing is that this version can read."""
    kept = library.fact(_FACT)
    if kept is None:
        return Letterhead()
    try:
        return Letterhead.model_validate_json(kept)
    except ValidationError:
        return Letterhead()


def keep_letterhead(library: Library, letterhead: Letterhead) -> None:
    """Store it in a library in place of what was there.

    Raises
    ------
    LibraryProblem
        If the library can't be written.
    PaperProblem
        If the logo is larger than is kept.
    """
    if len(letterhead.logo) > LARGEST_LOGO:
        raise PaperProblem(message("paper.letterhead.too_large"))
    library.keep_fact(_FACT, letterhead.model_dump_json())


def set_letterhead(pages: Pages, letterhead: Letterhead) -> None:
    """Set name and address at the top of the first page, the logo at the right of them."""
    if letterhead.is_empty:
        return
    top = pages.y
    if letterhead.logo:
        width, height = picture_size(letterhead.logo)
        scale = min(_LOGO_MM[0] / width, _LOGO_MM[1] / height)
        across, along = width * scale, height * scale
        pages.add(Bitmap(pages.area.right - across, top - along, across, along, letterhead.logo))
    if letterhead.name:
        pages.text(letterhead.name, bold=True, size_mm=4.4)
    if letterhead.address:
        pages.text(letterhead.address)
    pages.y = min(pages.y, top - (_LOGO_MM[1] if letterhead.logo else 0.0)) - 1.0
    pages.rule()
    pages.y -= 1.0
