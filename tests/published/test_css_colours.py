"""CSS colours of other spaces than sRGB.

Values: W3C web-platform-tests, css/css-color (lab-001, lch-001, oklab-001, oklch-001, predefined-005, a98rgb-001,
prophoto-rgb-001, rec2020-001, xyz-001: each is the keyword ``green``, #008000) and its table of ``color-mix()`` in
hsl; CSS Color 5 §3.1 for shares and opacity.
"""

from __future__ import annotations

import numpy as np
import pytest

from artwork.intake import read_artwork
from artwork.intake.colours import read_colour

GREEN = (0, 128, 0)
HALF = 0.5 / 255


@pytest.mark.parametrize(
    "text",
    [
        "lab(46.2775% -47.5621 48.5837)",
        "lch(46.2775% 67.9892 134.3912)",
        "oklab(51.975% -0.1403 0.10768)",
        "oklch(51.975% 0.17686 142.495)",
        "color(display-p3 0.21604 0.49418 0.13151)",
        "color(a98-rgb 0.281363 0.498012 0.116746)",
        "color(prophoto-rgb 0.230479 0.395789 0.129968)",
        "color(rec2020 0.235202 0.431704 0.085432)",
        "color(srgb-linear 0 0.21586 0)",
        "color(xyz 0.07719 0.15438 0.02573)",
        "hwb(120 0% 49.8039%)",
    ],
)
def test_green_in_every_space(text: str) -> None:
    found = read_colour(text)
    assert found is not None
    assert found == pytest.approx((*(part / 255 for part in GREEN), 1.0), abs=HALF)


@pytest.mark.parametrize(
    ("text", "wanted", "alpha"),
    [
        ("color-mix(in hsl, hsl(120deg 10% 20%), hsl(30deg 30% 40%))", (84, 92, 61), 1.0),
        ("color-mix(in hsl, hsl(120deg 10% 20%) 25%, hsl(30deg 30% 40%))", (112, 106, 67), 1.0),
        ("color-mix(in srgb, 20% red, transparent 20%)", (255, 0, 0), 0.2),
        ("color-mix(in srgb, red, blue)", (128, 0, 128), 1.0),
        ("color-mix(in srgb-linear, red 100%, blue)", (255, 0, 0), 1.0),
        ("color-mix(in xyz, lime, lime)", (0, 255, 0), 1.0),
        ("light-dark(red, blue)", (255, 0, 0), 1.0),
        ("color(display-p3 1 0 0 / 50%)", (255, 0, 0), 0.5),
    ],
)
def test_mixtures_shares_and_clipping(text: str, wanted: tuple[int, ...], alpha: float) -> None:
    found = read_colour(text)
    assert found is not None
    assert found == pytest.approx((*(part / 255 for part in wanted), alpha), abs=1.01 * HALF)


@pytest.mark.parametrize("space", ["lab", "oklab", "lch", "oklch", "hsl", "srgb", "srgb-linear", "xyz"])
def test_a_colour_mixed_with_itself_is_itself(space: str) -> None:
    for text in ("#c04010", "#123456", "#fefefe", "#008000"):
        assert read_colour(f"color-mix(in {space}, {text}, {text} 30%)") == pytest.approx(
            read_colour(text), abs=1e-6
        )


def test_a_grey_takes_the_others_hue() -> None:
    mixed, blue = (read_colour(t) for t in ("color-mix(in oklch, white, blue)", "blue"))
    assert mixed is not None and blue is not None
    assert np.argmax(mixed[:3]) == np.argmax(blue[:3])
    assert mixed[1] > mixed[0]  # hue 264: not the pink that a hue half way to 0 would give


@pytest.mark.parametrize(
    "text",
    [
        "color()", "color(kapow 1 0 0)", "lab(1e308 1e308 0)", "lab(nan 0 0)", "device-cmyk(0 1 1 0)", "",
        "color(xyz 1e999 0 0)", "color-mix(in srgb, red 0%, blue 0%)", "color-mix(in kapow, red, blue)",
        "color-mix(red, blue)", "color-mix(in srgb, red)", "color-mix(in lab, red, currentColor)",
        "color-mix(in lab, red 120%, blue)", "color-mix(in lab, " * 4000 + "red" + ", red)" * 4000,
        "color(rec2020 1e300 -1e300 0)",
    ],
)  # fmt: skip
def test_what_is_no_colour(text: str) -> None:
    found = read_colour(text)
    assert found is None or all(0 <= part <= 1 for part in found)
    if "rec2020" not in text:
        assert found is None


@pytest.mark.parametrize(
    "how",
    [
        '<rect x="10" y="10" width="20" height="20" fill="{}"/>',
        '<style>.a{{fill:{}}}</style><rect class="a" x="10" y="10" width="20" height="20"/>',
        '<rect style="fill:{}" x="10" y="10" width="20" height="20"/>',
    ],
)
@pytest.mark.parametrize(
    "white", ["lab(100 0 0)", "oklch(1 0 0)", "color-mix(in oklab, white, white)", "color(display-p3 1 1 1)"]
)
def test_white_in_another_space_knocks_out_and_the_drawing_stays_vector(how: str, white: str) -> None:
    body = '<rect width="60" height="60" fill="lch(20% 30 20)"/>' + how.format(white)
    file = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">{body}</svg>'
    reading = read_artwork(file.encode(), "art.svg")
    assert reading.kind == "vector"
    assert not reading.remarks
    assert sum(contour.area for contour in reading.outline.contours) == pytest.approx(3600 - 400)
