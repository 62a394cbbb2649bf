"""An SVG that cannot be taken as vectors, drawn as a picture (through resvg)."""

from __future__ import annotations

import base64
import binascii
import copy
import io
import re
from urllib.parse import unquote_to_bytes
from xml.etree.ElementTree import Element, tostring

import numpy as np
import resvg_py
from PIL import Image

from artwork.errors import EngineError
from artwork.intake.colours import read_colour
from artwork.intake.decoding import PILLOW_NAMES, refuse_large
from artwork.intake.inked import Picture
from artwork.intake.sniffing import sniff
from artwork.intake.svg_style import INHERITED, Style, Styles
from artwork.intake.svg_tree import XLINK_HREF, href, local_name
from artwork.intake.svg_units import view_box
from artwork.intake.svg_variables import has_mixed_current, has_variable, style_texts, with_current
from artwork.intake.values import Limits

SIDE = 2000
"""Longer side of the picture of a drawing that holds pictures, pixels."""
LOOK_SIDE = 1000
"""The same for a drawing without pictures in it: its edges are smooth, and a pixel is 0.6 mm on 600 mm."""
_DATA = ("data:image/png", "data:image/jpeg", "data:image/jpg", "data:image/gif", "data:image/webp")
"""Pictures inside the file; an SVG inside it, or a reference to outside, is not drawn."""
_FILTER = re.compile(r"(?<![\w-])filter\s*:[^;}]*")
_WIDE = re.compile(
    r"(?<![\w-])(?:lab|lch|oklab|oklch|hwb|color|color-mix|light-dark)"
    r"\((?:[^()]++|\((?:[^()]++|\([^()]*+\))*+\))*+\)",
    re.IGNORECASE,
)
"""A colour that resvg does not read."""
_PAINTS = ("fill", "stroke", "color", "stop-color", "flood-color", "lighting-color", "style")
_NOT_DRAWN = {"text", "foreignObject", "filter", "script", "animate", "set", "animateTransform"}


def has_picture(element: Element) -> bool:
    """Whether an ``image`` element holds its picture in the file."""
    return href(element).lower().startswith(_DATA)


def holds_picture(root: Element) -> bool:
    """Whether any picture is drawn in the drawing."""
    return any(local_name(each.tag) in ("image", "feImage") and has_picture(each) for each in root.iter())


def refuse_large_pictures(root: Element, limits: Limits) -> None:
    """EngineError where a picture in the drawing claims too much: resvg would unpack it whole."""
    for element in root.iter():
        if local_name(element.tag) not in ("image", "feImage") or not has_picture(element):
            continue
        head, _, payload = href(element).partition(",")
        raw = unquote_to_bytes(payload)
        try:
            data = base64.b64decode(raw) if head.rstrip().lower().endswith(";base64") else raw
            kind = sniff(data)
        except (binascii.Error, EngineError):
            continue  # nothing that resvg draws
        if kind in PILLOW_NAMES:
            refuse_large(data, kind, limits)


def drawn(root: Element, width: float, height: float, side: int = SIDE) -> Picture:
    """The drawing as a picture, its longer side ``side`` pixels. It can reach no file and no network."""
    tree = copy.deepcopy(root)
    if any(has_variable(text) or has_mixed_current(text) for text in style_texts(tree)):
        _put_plainly(tree)
    _cleaned(tree)
    scale = side / max(width, height)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    if view_box(tree.get("viewBox")) is None:
        tree.set("viewBox", f"0 0 {width} {height}")
    tree.set("width", str(size[0]))
    tree.set("height", str(size[1]))
    try:
        png = resvg_py.svg_to_bytes(
            svg_string=tostring(tree, encoding="unicode"), dpi=96, skip_system_fonts=True
        )
    except ValueError as error:
        raise EngineError(
            "damaged-svg",
            "The drawing needs to be drawn as a picture, and that failed.",
            "Export it as PNG, 3000 pixels across, and send that.",
        ) from error
    image = Image.open(io.BytesIO(bytes(png)), formats=("PNG",)).convert("RGBA")
    pixels = np.asarray(image)
    return Picture(np.ascontiguousarray(pixels[:, :, :3]), np.ascontiguousarray(pixels[:, :, 3]))


def _cleaned(element: Element) -> None:
    """Takes out whatever would refer outside, run, or be drawn by a font of ours."""
    for child in list(element):
        name = local_name(child.tag)
        if (
            name in _NOT_DRAWN
            or not isinstance(child.tag, str)
            or (name in ("image", "feImage") and not has_picture(child))
        ):
            element.remove(child)
            continue
        if name == "style":
            child.text = _FILTER.sub("", _plain_colours(_without_reach(child.text or "")))
        _cleaned(child)
    for attribute in ("href", XLINK_HREF):
        value = element.get(attribute, "")
        if value and not value.startswith("#") and not value.lower().startswith(_DATA):
            del element.attrib[attribute]
    for attribute in _PAINTS:
        if attribute in element.attrib:
            element.set(attribute, _plain_colours(element.attrib[attribute]))
    element.attrib.pop("filter", None)
    if "style" in element.attrib:
        element.set("style", _FILTER.sub("", element.attrib["style"]))


def _put_plainly(root: Element) -> None:
    """Writes what variables and mixtures with ``currentColor`` come to into each element: resvg reads neither."""
    styles = Styles(root)
    waiting: list[tuple[Element, Style]] = [(root, INHERITED)]
    while waiting:
        element, parent = waiting.pop()
        own, style = styles.own(element), styles.of(element, parent)
        plain = [
            f"{name}:{with_current(style[name], style['color']) if has_mixed_current(style[name]) else style[name]}"
            for name, value in own.items()
            if name in style
            and not name.startswith("--")
            and (has_variable(value) or has_mixed_current(value))
        ]
        if plain:
            element.set("style", ";".join([element.get("style", ""), *plain]).lstrip(";"))
        waiting += [(child, style) for child in element]


def _plain_colours(text: str) -> str:
    """Colours of other spaces in the words of sRGB, as they were read; what was not is left."""

    def plain(match: re.Match[str]) -> str:
        found = read_colour(match[0])
        if found is None:
            return match[0]
        red, green, blue = (round(255 * part) for part in found[:3])
        return f"rgba({red},{green},{blue},{found[3]:g})"

    return _WIDE.sub(plain, text)


def _without_reach(sheet: str) -> str:
    """A stylesheet without rules that fetch: resvg ignores them, and here they are not even offered."""
    return "" if "@import" in sheet else sheet
