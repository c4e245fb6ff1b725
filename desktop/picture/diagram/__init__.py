"""The flow diagram: channels and water, on one scale of pixels per watt."""

from desktop.picture.diagram.layout import layout
from desktop.picture.diagram.shapes import Picture

__all__ = ["Picture", "layout"]
