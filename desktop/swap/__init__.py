"""Another cartridge on a known deck: picked, planned, begun, and compared with what was found."""

# The wizard shows panels from here and its small pieces are used here: whichever of the two is
# asked for first, the wizard has to be there whole.
import desktop.wizard  # noqa: F401 - for its order alone
