"""The pure core: it imports the standard library and `transitions`, and never asks the world for anything."""
