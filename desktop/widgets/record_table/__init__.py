"""A long list to filter, sort and select from."""

from desktop.widgets.record_table.rows import Column, InMemoryListing
from desktop.widgets.record_table.spec import Chip, RowAction, TableSpec
from desktop.widgets.record_table.table import RecordTable

__all__ = ["Chip", "Column", "InMemoryListing", "RecordTable", "RowAction", "TableSpec"]
