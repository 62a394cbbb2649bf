"""Ink told from paper: scans, photos, colour art, what the client may say about it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw

from artwork.errors import EngineError
from artwork.intake import Wishes
from artwork.intake.ink import read_ink
from artwork.intake.inked import Picture
from artwork.intake.levelling import levelled, noise
from artwork.intake.separation import separate
from artwork.intake.skew import skew_deg
from tests.artwork.intake.made import codes, emblem, encoded, overlap, read, refused

N = 600
TRUTH = emblem(N) < 138
X = np.mgrid[0:N, 0:N][1] / N
Y = np.mgrid[0:N, 0:N][0] / N
SHADOW = cv2.GaussianBlur(np.where(X + 0.3 * Y < 0.5, 0.62, 1.0), (31, 31), 0)
LIGHTS = {
    "even": np.ones((N, N)),
    "from one side": 0.55 + 0.45 * (0.6 * X + 0.4 * Y),
    "falling off to the corners": 1 - 0.9 * ((X - 0.5) ** 2 + (Y - 0.5) ** 2),
    "a hand's shadow": SHADOW,
    "a shadow, from one side": SHADOW * (0.55 + 0.45 * (0.6 * X + 0.4 * Y)),
}


def photo(light: np.ndarray, grain: float = 6.0, ink: int = 20, paper: int = 235) -> np.ndarray:
    rng = np.random.default_rng(7)
    lit = emblem(N, ink, paper) * light + rng.normal(0, grain, (N, N))
    return lit.clip(0, 255).astype(np.uint8)


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("quality", [60, 90])
def test_a_photo_in_any_light_gives_the_printed_art(light: str, quality: int) -> None:
    reading = read(encoded(photo(LIGHTS[light]), "JPEG", quality=quality))
    assert overlap(reading.outline, TRUTH) > 0.975
    assert ("light-levelled" in codes(reading)) == (light != "even")


@pytest.mark.parametrize(
    ("light", "lightest"),
    [("from one side", 160), ("falling off to the corners", 140), ("a hand's shadow", 110)],
)
@pytest.mark.parametrize("share", [0.4, 0.7, 1.0])
def test_a_large_patch_of_middling_ink_is_no_shadow(light: str, lightest: int, share: float) -> None:
    """It has a sharp edge all round, within the picture; ``lightest``: the lightest ink that is still kept."""
    printed = np.full((N, N), 235.0)
    cv2.circle(printed, (300, 300), 150, 40 + share * (lightest - 40), -1)
    cv2.rectangle(printed, (100, 520), (500, 540), 30.0, -1)
    grain = np.random.default_rng(7).normal(0, 6, (N, N))
    lit = (printed * LIGHTS[light] + grain).clip(0, 255).astype(np.uint8)
    assert overlap(read(encoded(lit, "JPEG", quality=80)).outline, printed < 200) > 0.96


def test_a_blank_page_in_uneven_light_is_blank() -> None:
    rng = np.random.default_rng(7)
    for light in LIGHTS.values():
        page = (235 * light + rng.normal(0, 6, (N, N))).clip(0, 255).astype(np.uint8)
        assert refused(encoded(page, "JPEG")).code == "blank-picture"


def test_faint_pencil_is_read() -> None:
    reading = read(encoded(photo(LIGHTS["even"], grain=2.0, ink=200, paper=240), "JPEG", quality=90))
    assert overlap(reading.outline, TRUTH) > 0.96


def test_levelling_leaves_even_light_alone() -> None:
    even = photo(LIGHTS["even"])
    assert levelled(even).levels is even
    lit = levelled(photo(LIGHTS["a hand's shadow"]))
    paper = lit.levels[~cv2.dilate(TRUTH.astype(np.uint8), np.ones((9, 9))).astype(bool)]
    assert lit.varied > 0.3
    assert np.percentile(paper, 5) > 0.8 * np.percentile(paper, 95)


@pytest.mark.parametrize("sigma", [0.0, 2.0, 5.0, 10.0])
def test_noise_is_measured(sigma: float) -> None:
    """Against the standard deviation put in."""
    grainy = 128 + np.random.default_rng(1).normal(0, sigma, (400, 400))
    assert noise(grainy.round().astype(np.uint8)) == pytest.approx(sigma, abs=0.15 * sigma + 0.1)


def test_light_art_on_a_dark_ground_is_the_art() -> None:
    reading = read(encoded(255 - emblem(N), "PNG"))
    assert overlap(reading.outline, TRUTH) > 0.985
    assert "light-on-dark" in codes(reading)


@pytest.mark.parametrize("tint", [(20, 20, 20), (30, 90, 40)])
@pytest.mark.parametrize("radius", [40, 200])
def test_a_rounded_tile_that_fills_the_picture_is_the_art(tint: tuple[int, int, int], radius: int) -> None:
    """Dark along all edges but with paper in its corners: no light art on a dark ground, as a square tile is."""
    tile = Image.new("RGB", (N, N), "white")
    draw = ImageDraw.Draw(tile)
    draw.rounded_rectangle([0, 0, N - 1, N - 1], radius, fill=tint)
    draw.ellipse([N // 4, N // 4, N * 3 // 4, N * 3 // 4], fill="white")
    truth = np.asarray(tile.convert("L")) < 128
    for kind in ("PNG", "JPEG"):
        reading = read(encoded(tile, kind))
        assert overlap(reading.outline, truth) > 0.99
        assert "light-on-dark" not in codes(reading)
    draw.rectangle([0, 0, N - 1, N - 1], fill=tint)
    draw.ellipse([N // 4, N // 4, N * 3 // 4, N * 3 // 4], fill="white")
    square = read(encoded(tile, "PNG"))
    assert "light-on-dark" in codes(square)
    assert overlap(square.outline, np.asarray(tile.convert("L")) >= 128) > 0.99


def test_invert_takes_the_other_side() -> None:
    assert overlap(read(encoded(emblem(N), "PNG"), invert=True).outline, ~TRUTH) > 0.99


def test_shade_makes_more_or_less_of_it_art() -> None:
    soft = encoded(cv2.GaussianBlur(emblem(N), (15, 15), 0), "PNG")
    shares = [read(soft, shade=shade).inks[1].share for shade in (-3, -1, 0, 1, 3)]
    assert shares == sorted(shares)
    assert shares[0] < 0.93 * shares[2] < 1.07 * shares[2] < 1.3 * shares[4]
    dark = encoded(cv2.GaussianBlur(255 - emblem(N), (15, 15), 0), "PNG")
    shares = [read(dark, shade=shade).inks[1].share for shade in (-3, 0, 3)]
    assert shares == sorted(shares)


def test_transparency_tells_art_from_ground() -> None:
    for level in (0, 120, 255):
        clear = np.full((N, N, 4), level, np.uint8)
        clear[:, :, 3] = 255 - emblem(N)
        assert overlap(read(encoded(clear, "PNG")).outline, TRUTH) > 0.98


def test_white_over_dark_on_nothing_knocks_out() -> None:
    pixels = np.zeros((N, N, 4), np.uint8)
    pixels[100:500, 100:500] = (10, 60, 30, 255)
    pixels[250:350, 250:350] = (255, 255, 255, 255)
    truth = np.zeros((N, N), bool)
    truth[100:500, 100:500] = True
    truth[250:350, 250:350] = False
    assert overlap(read(encoded(pixels, "PNG")).outline, truth) > 0.99


def colours(edge: Image.Resampling = Image.Resampling.LANCZOS) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """A poster of four inks on white, edges smoothed, and which pixels are mostly each."""
    places = {
        "#0b5d3b": [150, 150, 750, 750],
        "#f2a900": [60, 60, 240, 120],
        "#9a9a9a": [60, 780, 840, 840],
        "#000000": [270, 60, 840, 120],
    }
    side, finer = 300, 3
    poster = Image.new("RGB", (side * finer, side * finer), "white")
    draw = ImageDraw.Draw(poster)
    masks = {}
    for colour, box in places.items():
        shape = draw.ellipse if colour == "#0b5d3b" else draw.rectangle
        shape(box, fill=colour)
    draw.ellipse([390, 390, 510, 510], fill="white")
    full = np.asarray(poster)
    for colour in places:
        rgb = tuple(int(colour[i : i + 2], 16) for i in (1, 3, 5))
        share = (full == rgb).all(axis=2).astype(np.float32)
        masks[colour] = cv2.resize(share, (side, side), interpolation=cv2.INTER_AREA) > 0.5
    return np.asarray(poster.resize((side, side), edge)), masks


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_colour_art_comes_apart_into_its_inks(kind: str) -> None:
    poster, masks = colours()
    data = encoded(poster, kind, **({"quality": 85, "subsampling": 0} if kind == "JPEG" else {}))
    every = read(data)
    assert every.sentence.startswith(f"We read {len(masks)} colours; all will be carved")
    found = [ink.colour for ink in every.inks]
    assert found[0] == "#ffffff"
    assert not every.inks[0].carved
    together = np.any(list(masks.values()), axis=0)
    assert overlap(every.outline, together) > 0.98
    for colour, mask in masks.items():
        place = min(range(1, len(found)), key=lambda i: _apart(found[i], colour))
        assert _apart(found[place], colour) < 20
        assert overlap(read(data, inks=(place,)).outline, mask) > 0.97, colour


def _apart(first: str, second: str) -> float:
    return max(abs(int(first[i : i + 2], 16) - int(second[i : i + 2], 16)) for i in (1, 3, 5))


def test_an_edge_is_no_ink_of_its_own() -> None:
    """The grey of black's smoothed edge is not the grey ink: no seam around the black bar."""
    poster, masks = colours()
    reading = read(encoded(poster, "PNG"))
    grey = [ink.colour for ink in reading.inks].index("#9a9a9a")
    outline = read(encoded(poster, "PNG"), inks=(grey,)).outline
    assert len(outline.contours) == 1
    assert overlap(outline, masks["#9a9a9a"]) > 0.98


def test_a_gradient_becomes_a_threshold_with_a_remark() -> None:
    ramp = np.linspace(0, 200, N).astype(np.uint8)
    pixels = np.full((N, N, 3), 255, np.uint8)
    pixels[150:450, 100:500] = np.stack([ramp[100:500] // 2, 40 + ramp[100:500] // 3, ramp[100:500]], -1)
    reading = read(encoded(pixels, "PNG"))
    truth = np.zeros((N, N), bool)
    truth[150:450, 100:500] = True
    assert "colours-hardened" in codes(reading)
    assert overlap(reading.outline, truth) > 0.98


def test_grey_art_keeps_its_light_grey() -> None:
    pixels = np.full((N, N), 255, np.uint8)
    pixels[100:200, 100:500] = 10
    pixels[300:400, 100:500] = 190
    reading = read(encoded(pixels, "PNG"))
    assert overlap(reading.outline, pixels < 255) > 0.99
    assert [ink.carved for ink in reading.inks] == [False, True, True]


def test_specks_too_small_to_carve_are_dropped_and_counted() -> None:
    pixels = emblem(N).copy()
    rng = np.random.default_rng(2)
    clear = ~cv2.dilate(TRUTH.astype(np.uint8), np.ones((11, 11))).astype(bool)
    spots = 0
    taken = np.zeros((N, N), bool)
    for y, x in rng.integers(5, N - 8, (400, 2)):
        if clear[y : y + 2, x : x + 2].all() and not taken[y - 3 : y + 5, x - 3 : x + 5].any():
            pixels[y : y + 2, x : x + 2] = 0
            taken[y : y + 2, x : x + 2] = True
            spots += 1
    data = encoded(pixels, "PNG")
    small = read(data, largest_mm=150.0)  # 150 mm over 480 px of art: a spot of 2 px is 0.6 mm
    assert small.counts["specks-dropped"] == spots
    assert "specks-dropped" in codes(small)
    assert overlap(small.outline, TRUTH) > 0.985
    large = read(data, largest_mm=2000.0)  # there a spot is 8 mm
    assert large.counts["specks-dropped"] == 0
    assert len(large.outline.contours) == len(small.outline.contours) + spots


@pytest.mark.parametrize("turn", [-4.0, -1.5, 2.3, 5.0])
def test_a_crooked_scan_is_noticed_and_turned_upright(turn: float) -> None:
    card = Image.new("L", (N, N), 255)
    draw = ImageDraw.Draw(card)
    for row in range(5):
        draw.text((110, 150 + 60 * row), "QUILLFERN GARDEN", fill=20, font_size=40)
    matrix = cv2.getRotationMatrix2D((N / 2, N / 2), turn, 1)
    crooked = cv2.warpAffine(np.asarray(card), matrix, (N, N), flags=cv2.INTER_CUBIC, borderValue=255)
    grain = np.random.default_rng(3).normal(0, 5, (N, N))
    data = encoded((crooked * 0.92 + grain).clip(0, 255).astype(np.uint8), "JPEG", quality=95)
    assert "crooked" in codes(read(data))
    upright = read(data, straighten=True)
    assert "straightened" in codes(upright)
    left, low, right, high = upright.outline.bounds
    wide, tall = np.nonzero(np.asarray(card) < 128)[1], np.nonzero(np.asarray(card) < 128)[0]
    assert right - left == pytest.approx(np.ptp(wide), rel=0.02)
    assert high - low == pytest.approx(np.ptp(tall), rel=0.02)


def test_an_upright_scan_is_not_called_crooked() -> None:
    assert skew_deg(TRUTH.astype(np.uint8)) == 0
    assert skew_deg(np.zeros((100, 100), np.uint8)) == 0


def test_art_of_few_pixels_is_remarked() -> None:
    assert "few-pixels" in codes(read(encoded(emblem(90), "PNG")))


def test_no_ink_chosen_is_refused() -> None:
    with pytest.raises(EngineError):
        read_ink(Picture(colours()[0]), Wishes(inks=(40,)))


def test_noise_is_no_flat_art() -> None:
    static = np.random.default_rng(4).integers(0, 256, (200, 200), np.uint8)
    assert separate(static, np.ones(3)) is None


def test_the_picture_shows_the_ink_that_was_read() -> None:
    reading = read(encoded(emblem(N), "PNG"))
    shown = cv2.imdecode(np.frombuffer(reading.picture, np.uint8), cv2.IMREAD_GRAYSCALE)
    assert ((shown < 128) == TRUTH).mean() > 0.999
