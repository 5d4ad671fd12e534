"""Another cartridge on a known deck: planned, and compared with what was found."""
