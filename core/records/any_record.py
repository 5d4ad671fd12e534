"""What a library keeps with revisions, and what a person calls each of them."""

from __future__ import annotations

from core.records.cartridge import Cartridge
from core.records.deck import Deck
from core.records.headshell import Headshell
from core.records.job import Customer, Job
from core.records.picture import KeptPicture
from core.records.service import Service
from core.records.test_record import CutRecord

AnyRecord = Deck | Cartridge | Headshell | CutRecord | Job | Customer | Service | KeptPicture


def name_of(record: AnyRecord) -> str:
    """Return what a person calls it: a job by its number, others by what they say."""
    if isinstance(record, KeptPicture):
        return record.caption or record.day
    if isinstance(record, Service):
        return f"{record.day} {record.done}"
    return record.number or record.brought if isinstance(record, Job) else record.name
