"""Procedure trees on disk: YAML with line marks, the shape of the file, the library of trees."""
