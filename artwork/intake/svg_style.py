"""The style of each SVG element: presentation attributes, stylesheets, ``style`` attributes, inheritance."""

from __future__ import annotations

from xml.etree.ElementTree import Element

import cssselect2
import tinycss2

from artwork.intake.svg_tree import local_name
from artwork.intake.svg_variables import has_variable, style_texts, with_current, with_variables

Style = dict[str, str]

INHERITED = {
    "color": "black",
    "fill": "black",
    "fill-opacity": "1",
    "fill-rule": "nonzero",
    "clip-rule": "nonzero",
    "stroke": "none",
    "stroke-opacity": "1",
    "stroke-width": "1",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-miterlimit": "4",
    "stroke-dasharray": "none",
    "stroke-dashoffset": "0",
    "visibility": "visible",
    "paint-order": "normal",
    "font-family": "",
    "font-size": "16",
    "font-style": "normal",
    "font-weight": "normal",
    "text-anchor": "start",
    "letter-spacing": "normal",
    "word-spacing": "normal",
    "writing-mode": "horizontal-tb",
    "direction": "ltr",
    "dominant-baseline": "auto",
    "font-variant": "normal",
    "text-transform": "none",
    "text-decoration": "none",
    "marker-start": "none",
    "marker-mid": "none",
    "marker-end": "none",
}
"""Inherited properties with their initial values (SVG 1.1, appendix N)."""
OWN = (
    "opacity", "display", "clip-path", "mask", "filter", "transform", "overflow", "stop-color",
    "stop-opacity", "vector-effect", "baseline-shift", "alignment-baseline",
)  # fmt: skip
_KNOWN = {*INHERITED, *OWN}
_SHORTHANDS = {"marker": ("marker-start", "marker-mid", "marker-end")}
_MOST_RULES = 5000


class Styles:
    """The cascade of one document."""

    def __init__(self, root: Element) -> None:
        self._matcher = cssselect2.Matcher()
        self._wrappers: dict[Element, cssselect2.ElementWrapper] = {}
        self.reaches_out = False
        self.fonts: list[Style] = []
        sheets = [e.text or "" for e in root.iter() if local_name(e.tag) == "style"]
        self._variables = any(has_variable(text) for text in style_texts(root))
        rules = sum(self._add(sheet) for sheet in sheets)
        if rules:
            tree = cssselect2.ElementWrapper.from_xml_root(root)
            self._wrappers = {wrapper.etree_element: wrapper for wrapper in tree.iter_subtree()}

    def of(self, element: Element, parent: Style) -> Style:
        """The element's style; what it inherits comes from ``parent``."""
        own, style = self.own(element), {name: parent[name] for name in INHERITED}
        if self._variables:
            own = with_variables(own, parent)
            style |= {name: value for name, value in parent.items() if name.startswith("--")}
        if "color" in own:  # in the colour itself, currentColor is the parent's
            own["color"] = with_current(own["color"], parent["color"])
        for name, value in own.items():
            if value == "inherit":
                style[name] = parent.get(name, "")
            elif value != "initial":
                style[name] = value
            else:
                style[name] = INHERITED.get(name, "")
        return style

    def own(self, element: Element) -> Style:
        """What the document declares of the element itself, as it is written."""
        own = {name: value for name, value in element.attrib.items() if name in _KNOWN}
        important: Style = {}
        wrapper = self._wrappers.get(element)
        if wrapper is not None:
            for _specificity, _order, _pseudo, (normal, urgent) in self._matcher.match(wrapper):
                own |= normal
                important |= urgent
        if "style" in element.attrib:
            normal, urgent = _declared(tinycss2.parse_blocks_contents(element.attrib["style"]))
            own |= normal
            important |= urgent
        return own | important

    def _add(self, text: str) -> int:
        count = 0
        for rule in tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True):
            if rule.type == "at-rule":
                self._at_rule(rule)
                continue
            if rule.type != "qualified-rule" or count >= _MOST_RULES:
                continue
            payload = _declared(tinycss2.parse_blocks_contents(rule.content))
            try:
                selectors = cssselect2.compile_selector_list(rule.prelude)
            except cssselect2.SelectorError:
                continue  # CSS: a rule whose selector is not understood is dropped
            for selector in selectors:
                if selector.pseudo_element is None:
                    self._matcher.add_selector(selector, payload)
                    count += 1
        return count

    def _at_rule(self, rule: tinycss2.ast.AtRule) -> None:
        if rule.lower_at_keyword == "import":
            self.reaches_out = True
        if rule.lower_at_keyword == "font-face" and rule.content is not None:
            face = {
                each.lower_name: tinycss2.serialize(each.value).strip()
                for each in tinycss2.parse_blocks_contents(rule.content)
                if each.type == "declaration"
            }
            self.fonts.append(face)


def _declared(nodes: list[tinycss2.ast.Node]) -> tuple[Style, Style]:
    """Declarations of known properties and of variables, the important ones apart."""
    normal: Style = {}
    urgent: Style = {}
    for node in nodes:
        if node.type != "declaration":
            continue
        value = tinycss2.serialize(node.value).strip()
        written = node.name if node.name.startswith("--") else node.lower_name
        for name in _SHORTHANDS.get(written, (written,)):
            if name in _KNOWN or name.startswith("--"):
                (urgent if node.important else normal)[name] = value
    return normal, urgent
