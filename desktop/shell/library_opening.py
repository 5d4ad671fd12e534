"""Which library to open, and how; what has to be known of one that was opened."""

from __future__ import annotations

from dataclasses import dataclass

from core.language import Name
from core.store import Library, LibraryAddress
from desktop.widgets.language import said, tr
from desktop.widgets.messages import Messages


@dataclass(frozen=True, slots=True)
class LibraryOpening:
    """A library to open, and how."""

    address: LibraryAddress
    read_only: bool = False
    begin_anew: bool = False


def tell_how(library: Library, messages: Messages) -> None:
    """Tell what has to be known of a library that was opened."""
    warning = library.warning()
    if warning:
        messages.tell(tr("shell.library_recovery.library_in_a_network_folder"), said(warning))
    crowded = library.address.backups and library.address.backups.warning()
    if crowded and not library.read_only:
        messages.tell(tr("shell.library_recovery.backups"), said(crowded))
    if library.notice:
        messages.tell(tr("storage.foreign_log.title"), said(library.notice))
    if library.read_only:
        messages.tell(
            tr("shell.library_recovery.looking_only"),
            tr(
                "shell.library_recovery.the_library_address_is_open",
                address=Name(str(library.address)),
            ),
        )
