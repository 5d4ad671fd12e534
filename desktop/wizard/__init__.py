"""The nine steps of one fitting, and its last page."""

from desktop.wizard.wizard import Wizard

__all__ = ["Wizard"]
