"""Puts sheets of :mod:`core.paper` on the screen, into PDF files and on printers."""
