"""Charts on the screen, and the painter of geometric marks."""
