"""Another cartridge on a known deck: picked, planned and begun."""

__all__ = [
    "swap_page",
]
