"""SVG bytes → element tree, within limits and without anything that reaches out or runs."""

from __future__ import annotations

from xml.etree.ElementTree import Element, ParseError, TreeBuilder

import defusedxml
from defusedxml.ElementTree import DefusedXMLParser

from artwork.errors import EngineError
from artwork.intake.values import Limits

SVG = "{http://www.w3.org/2000/svg}"
XLINK_HREF = "{http://www.w3.org/1999/xlink}href"


class _Guard(TreeBuilder):
    """Builds the tree, and stops where a limit is passed or a script is met."""

    def __init__(self, limits: Limits) -> None:
        super().__init__()
        self._limits = limits
        self._depth = self._count = 0

    def start(self, tag: str, attributes: dict[str, str], /) -> Element:
        self._depth += 1
        self._count += 1
        if self._depth > self._limits.nesting:
            raise nested_too_deep(self._limits)
        if self._count > self._limits.elements:
            raise too_many_elements(self._limits)
        if local_name(tag) == "script" or any(name.lower().startswith("on") for name in attributes):
            raise EngineError(
                "svg-with-script",
                "The SVG holds a script, and no file with a script in it is read.",
                "Export it as plain SVG (without interaction or animation) and send that.",
            )
        return super().start(tag, attributes)

    def end(self, tag: str, /) -> Element:
        self._depth -= 1
        return super().end(tag)


def parse_tree(data: bytes, limits: Limits) -> Element:
    """The root element. EngineError for entities, scripts, broken XML, and more than the limits allow."""
    root = parse_any(data, limits)
    if local_name(root.tag) != "svg":
        raise EngineError(
            "damaged-svg", "The file's outermost element is not <svg>.", "Export it again as SVG."
        )
    return root


def parse_any(data: bytes, limits: Limits) -> Element:
    """The root element of any XML, under the same limits."""
    if len(data) > limits.text_bytes:
        raise drawing_too_large(len(data), limits)
    parser = DefusedXMLParser(target=_Guard(limits), forbid_entities=True, forbid_external=True)
    try:
        parser.feed(data)
        root = parser.close()
    except defusedxml.DefusedXmlException as error:
        raise EngineError(
            "svg-with-entities",
            "The SVG defines entities (shorthand that can unfold without end), which are not read.",
            "Export it again as plain SVG; in the export options, leave out the editor's own data.",
        ) from error
    except (ParseError, ValueError, LookupError) as error:
        raise EngineError(
            "damaged-svg",
            f"The SVG is not well-formed XML ({error}).",
            "Open it in the program it was drawn in and export it again.",
        ) from error
    if not isinstance(root, Element):
        raise EngineError(
            "damaged-svg", "The file's outermost element is not <svg>.", "Export it again as SVG."
        )
    return root


def local_name(tag: object) -> str:
    """The element's name without namespace; empty for comments and for elements of other vocabularies."""
    if not isinstance(tag, str):
        return ""
    if tag.startswith(SVG):
        return tag[len(SVG) :]
    return "" if tag.startswith("{") else tag


def href(element: Element) -> str:
    """What the element refers to."""
    return (element.get("href") or element.get(XLINK_HREF) or "").strip()


def nested_too_deep(limits: Limits) -> EngineError:
    """Groups within groups beyond the limit."""
    return EngineError(
        "nested-too-deep",
        f"The drawing nests groups or references more than {limits.nesting} deep.",
        "Ungroup it, or flatten it, and export it again.",
    )


def too_many_elements(limits: Limits) -> EngineError:
    """More things drawn than the limit."""
    return EngineError(
        "too-many-elements",
        f"The drawing holds more than {limits.elements} elements.",
        "Send the logo alone, without a page, a map or a picture around it.",
    )


def too_many_commands(limits: Limits) -> EngineError:
    """More path commands than the limit."""
    return EngineError(
        "too-many-path-commands",
        f"The drawing's paths hold more than {limits.commands} commands.",
        "Simplify the paths in the program it was drawn in, and export it again.",
    )


def drawing_too_large(size: int, limits: Limits) -> EngineError:
    """More text than the limit."""
    return EngineError(
        "drawing-too-large",
        f"The drawing is {size / 1e6:.1f} MB of text; at most {limits.text_bytes / 1e6:.0f} MB is read.",
        "Leave out embedded pictures, simplify the paths, and export it again.",
    )
