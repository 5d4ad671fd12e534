"""Another cartridge on a known deck: picked, planned, begun, and compared with what was found."""
