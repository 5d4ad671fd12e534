"""The nine steps of one fitting, and its last page."""

from desktop.wizard.wizard import Beside, Wizard

__all__ = ["Beside", "Wizard"]
