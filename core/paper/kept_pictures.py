"""The pictures of a fitting and its job, as a sheet shows them."""

from __future__ import annotations

from core.fitting import Fitting
from core.paper.picture_pages import PaperPicture
from core.store import Library


def owners_of(fitting: Fitting) -> tuple[tuple[str, str], ...]:
    """Return what the pictures on a fitting's sheets belong to: sort and id."""
    job = (("job", fitting.job_id),) if fitting.job_id else ()
    return ("fitting", fitting.id), *job


def pictures_of(library: Library, fitting: Fitting) -> tuple[PaperPicture, ...]:
    """Return the pictures of a fitting and its job that were not withdrawn, in order.

    One without its content is left out. LibraryProblem if they can't be read.
    """
    found = []
    for owner in owners_of(fitting):
        for row in library.pictures.of(*owner):
            content = library.pictures.content(row.thing.content)
            if content is not None:
                size = content.width, content.height
                found.append(PaperPicture(content.image, *size, row.thing.caption, row.thing.day))
    return tuple(found)
