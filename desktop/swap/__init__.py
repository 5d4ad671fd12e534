"""Another cartridge on a known deck: picked, planned and begun."""
