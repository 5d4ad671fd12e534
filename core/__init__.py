"""What Setdown knows and computes, without a screen.

Nothing here imports Qt, pyqtgraph or the desktop package; an import contract holds it to that.
"""
