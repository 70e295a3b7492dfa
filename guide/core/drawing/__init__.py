"""A procedure tree as a picture: routes laid out by themselves, the rest in groups; a job's path and findings on it."""

from guide.core.drawing.graph import Picture, picture_of
from guide.core.drawing.mermaid import markdown_of
from guide.core.drawing.svg import svg_of

__all__ = ["Picture", "markdown_of", "picture_of", "svg_of"]
