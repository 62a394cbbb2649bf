"""What the parts of the SVG walk ask of it, so that they know the walk without importing it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Protocol
from xml.etree.ElementTree import Element

from artwork.intake.finishing import Drawing
from artwork.intake.marks import Colour, Mark
from artwork.intake.paths import Path
from artwork.intake.svg_place import Place
from artwork.intake.svg_style import Style, Styles


class Painter(Protocol):
    """One document's walk (:class:`artwork.intake.svg_walk.Walk`) as groups, references, clips and masks see it."""

    paper: Colour
    """What lies under the paint: white, or black within a mask."""

    @property
    def drawing(self) -> Drawing:
        """Where remarks go."""

    @property
    def styles(self) -> Styles:
        """The document's style sheets."""

    @property
    def ids(self) -> Mapping[str, Element]:
        """Elements by their id; the first of a name counts."""

    def visit(self, element: Element, place: Place) -> None:
        """Paints an element and what is in it."""

    def each(self, elements: Iterable[Element], place: Place) -> None:
        """Paints elements one after another."""

    def entered(self, element: Element, place: Place, style: Style) -> Place | None:
        """The place inside the element: its transform, opacity, clip and mask applied. ``None``: hidden."""

    def paint(self, path: Path, place: Place) -> None:
        """Fills and strokes a path as its style says."""

    def aside(self, gather: Callable[[], object], plain: bool = False) -> list[Mark]:
        """What ``gather`` paints, kept out of the drawing; ``plain``: every shape filled, paint or none."""
