"""Another cartridge on a known deck: the plan, and its comparison with the findings."""
