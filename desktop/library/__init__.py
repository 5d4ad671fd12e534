"""The first screen: what is on file, and the ways to start, resume, add and correct."""
