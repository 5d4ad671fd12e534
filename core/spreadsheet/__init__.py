"""Every figure of a library as tables for a spreadsheet, with a data dictionary beside them."""

from core.spreadsheet.writing import Tables, names_of, write_tables

__all__ = ["Tables", "names_of", "write_tables"]
