"""Pictures on paper: the words under each are there to the last."""

from __future__ import annotations

from core.drawing.marks import Words
from core.language import Numbers
from core.paper.lettering import rough_width
from core.paper.pages import Pages
from core.paper.picture_pages import PaperPicture, add_pictures
from core.paper.sheet import PaperSize, printable


def set_words(*captions: str) -> list[list[Words]]:
    pages = Pages(printable(PaperSize.A4), rough_width, 3.0)
    pictures = [PaperPicture(b"", 1600, 1200, caption, "2026-03-04") for caption in captions]
    add_pictures(pages, pictures, Numbers())
    return [[one for one in page if isinstance(one, Words)] for page in pages.pages[1:]]


def test_the_longest_caption_loses_neither_its_end_nor_the_day() -> None:
    caption = "the arm base, seen from the rear left, " * 5 + "end"
    assert 190 <= len(caption) <= 200
    (page,) = set_words(caption)
    under = " ".join(one.text for one in page[1:])
    assert under == f"{caption} (2026-03-04)"


def test_long_captions_stay_on_their_page_and_off_the_next_pictures() -> None:
    long = "the arm base, seen from the rear left, " * 5
    area = printable(PaperSize.A4)
    for page in set_words(*[long] * 8):
        assert all(one.y >= area.bottom for one in page)
