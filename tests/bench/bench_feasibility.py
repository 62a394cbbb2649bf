"""Feasibility: axis, findings, remedies. One core; our side and the floor in turn."""

from __future__ import annotations

from functools import cache
from itertools import islice

import cv2
import numpy as np
from skimage.morphology import medial_axis

from artwork.axis import Anatomy, study
from artwork.curves import Contour
from artwork.cut import Cut
from artwork.findings import check
from artwork.findings.depth import judge_depth
from artwork.intake import read_artwork
from artwork.intake.decoding import decode
from artwork.intake.ink import read_ink
from artwork.intake.values import Limits, Wishes
from artwork.machining import carving_time
from artwork.outline import Outline
from artwork.placing import largest_fit
from artwork.remedies import remedies
from artwork.scene import Scene
from artwork.tracing import trace
from artwork.workpiece import Slat
from seeds.shop import load
from tests.artwork import program_run
from tests.artwork.findings.random_art import random_cut
from tests.artwork.findings.simulation import carved
from tests.artwork.remedies.refused import refused
from tests.artwork.remedies.typed import UNITS, carried_out, numbers, smaller_change
from tests.bench.harness import Measured, alone, case, compare, process_peak_mb, seconds
from tests.published.corpus import icons, outline_of
from tests.published.test_icons import RESOLUTIONS, deviation

cv2.setNumThreads(1)
SHOP = load()
CHAIR = SHOP.model("fernhollow-chair")
ERROR = 0.05
"""mm: what one pixel of a skeleton may be off, and far more than the exact axis is."""
SEGMENTS = (1_000, 3_000, 10_000, 30_000, 100_000, 200_000)


def slat(key: str) -> Slat:
    return CHAIR.slat(key)


@cache
def mask() -> np.ndarray:
    """The seed's scan, 3000 pixels square, as ink."""
    picture, _ = decode(SHOP.artwork("scan.jpg").data, "jpeg", Limits())
    return read_ink(picture, Wishes()).mask


@cache
def crest() -> Outline:
    return read_artwork(SHOP.artwork("crest.svg").data, "crest.svg").outline


def placed(outline: Outline, on: Slat) -> Cut:
    return Cut(outline, on, largest_fit(outline, on, SHOP.allowances), SHOP.bits[0], SHOP.allowances)


@case(issue=4, name="mask to outline, axis and all findings", n="9 Mpx", target=0.8)
def mask_to_findings() -> Measured:
    """Against one libpotrace trace and one distance transform of that mask."""
    ink = mask()
    where = placed(Outline(trace(ink), pixel=1.0), slat("back-centre"))

    def ours() -> None:
        outline = Outline(trace(ink), pixel=1.0)
        check(Cut(outline, where.slat, where.placement, where.bit, where.allowances), study(outline))

    def floor() -> None:
        trace(ink)
        cv2.distanceTransform(ink, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)

    return compare(ours, floor)


@case(issue=4, name="exact axis against a pixel skeleton", n="0.05 mm", target=15, sense="at least")
def axis_against_skeleton() -> Measured:
    """scikit-image's medial_axis with a pixel of the error named; it knows lines only, ours lands as well."""
    cut = placed(crest(), slat("back-centre"))
    art = cut.placed()
    left, low, right, high = art.bounds
    grid = np.zeros((int((high - low) / ERROR) + 3, int((right - left) / ERROR) + 3), np.uint8)
    rings = [np.rint((c.polyline(0.01) - (left, low)) / ERROR + 1).astype(np.int32) for c in art.contours]
    cv2.fillPoly(grid, rings, 1)
    found = compare(lambda: study(crest()), lambda: medial_axis(grid, return_distance=True), rounds=3)
    return Measured(found.ours, found.rival, figure=(found.rival or 0) / found.ours, unit="times faster")


@case(issue=4, name="new placement, all findings, against the first check", n="crest", target=0.25)
def new_placement() -> Measured:
    cut = placed(crest(), slat("back-centre"))
    anatomy = study(crest())
    moved = Cut(cut.outline, slat("seat-front"), cut.placement, cut.bit, cut.allowances)
    return compare(lambda: check(moved, anatomy), lambda: check(cut, study(crest())))


def gears(segments: int) -> Outline:
    """A field of wavy wheels, 200 segments each: as many segments as asked for, no curves."""
    wheels = segments // 200
    side = int(np.ceil(np.sqrt(wheels)))
    angles = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    reach = 4 * (1 + 0.2 * np.sin(9 * angles))
    wheel = np.stack([reach * np.cos(angles), reach * np.sin(angles)], axis=1)
    contours = []
    for number in range(wheels):
        points = wheel + 10.0 * np.array([number % side, number // side]) + 0.01 * np.sin(number)
        contours.append(Contour(points, np.full((200, 2, 2), np.nan)))
    return Outline(tuple(contours))


@case(issue=4, name="growth of time with segments, exponent", n="1,000 to 200,000", target=1.05)
def growth() -> Measured:
    """Slope of a straight line through the logarithms; the best of three runs at each size."""
    times = [min(seconds(lambda o=outline: study(o)) for _ in range(3)) for outline in map(gears, SEGMENTS)]
    slope = float(np.polyfit(np.log(SEGMENTS), np.log(times), 1)[0])
    told = ", ".join(f"{n:,}: {t:.3f} s" for n, t in zip(SEGMENTS, times, strict=True))
    return Measured(times[-1], figure=slope, note=told)


@case(issue=4, name="peak memory of an axis", n="200,000 segments", target=600)
def memory() -> Measured:
    spent = seconds(lambda: study(gears(200_000)))
    peak = process_peak_mb()
    return Measured(spent, peak_mb=peak, figure=peak, unit="MB")


@case(issue=4, name="remedy search against one full check", n="all slats × 4 bits", target=2)
def remedy_search() -> Measured:
    """The crest where it cannot carve, on the narrow slat of the chair."""
    cut = placed(crest(), slat("back-inner-left"))
    anatomy = study(crest())
    slats = [each.slat for each in CHAIR.slats if each.carries_art]

    def full() -> Anatomy:
        found = study(crest())
        check(cut, found)
        return found

    return compare(lambda: remedies(cut, anatomy, slats, SHOP.bits), full)


@cache
def cures() -> tuple[list[str], list[bool]]:
    """What 60 refused cuts of real art are told, typed in: sentences that then do not carve, and whether a 5 %
    smaller change carves as well, change by change.
    """
    failing, too_much = [], []
    for told in refused(60):
        for remedy in remedies(told.cut, told.anatomy, told.slats, SHOP.bits):
            for unit in UNITS:
                for widest in (False, True) if "widest" in numbers(remedy.sentence) else (False,):
                    typed = carried_out(told.cut, remedy, unit, told.slats, SHOP.bits, widest=widest)
                    if check(typed, study(typed.outline)).verdict == "will-not-carve":
                        failing.append(f"{told.name}: {remedy.sentence}")
            for _, less in smaller_change(told.cut, remedy):
                typed = carried_out(told.cut, remedy, "mm", told.slats, SHOP.bits, less)
                too_much.append(check(typed, study(typed.outline)).verdict != "will-not-carve")
    return failing, too_much


@case(issue=15, name="cures typed in as told that do not carve", n="60 refused cuts", target=0)
def told_cures() -> Measured:
    failing, _ = cures()
    return Measured(0.0, figure=len(failing), unit="cures", note="; ".join(failing))


@case(issue=15, name="5 % smaller changes that fail", n="60 refused cuts", target=0.9, sense="at least")
def least_changes() -> Measured:
    _, too_much = cures()
    failing = too_much.count(False)
    return Measured(0.0, figure=failing / len(too_much), unit="share", note=f"{failing} of {len(too_much)}")


@case(issue=15, name="carving times within 15 % of a program run", n="28 cuts", target=0.9, sense="at least")
def carving_times() -> Measured:
    """Against moves laid out one by one and driven with looked-ahead trapezoid profiles."""
    ratios = []
    for told in islice(refused(200, seed=9), 28):
        if len(told.anatomy.points) < 3_000:
            scene = Scene(told.cut, told.anatomy)
            floor = judge_depth(scene).floor
            ratios.append(carving_time(scene, floor).minutes / program_run.minutes(told.cut, floor))
    found = np.array(ratios)
    share = float((np.abs(found - 1) <= 0.15).mean())
    note = f"median {np.median(found):.3f}, {found.min():.2f} to {found.max():.2f}, {len(found)} cuts"
    return Measured(0.0, figure=share, unit="share", note=note)


@case(issue=4, name="check of a known outline", n="crest", target=0.05)
def known_outline() -> Measured:
    cut, anatomy = placed(crest(), slat("back-centre")), study(crest())
    return alone(lambda: check(cut, anatomy))


@case(issue=4, name="safe side: losses in simulation that were said to carve", n="120 cuts", target=0)
def safe_side() -> Measured:
    """Simulation on a 0.02 mm grid; the note tells the false alarms as well."""
    misses = alarms = harmed = 0
    for number in range(120):
        cut = random_cut(number)
        verdict, shown = check(cut, study(cut.outline)).verdict, carved(cut)
        harmed += shown.harmed
        misses += verdict == "carves" and shown.harmed
        alarms += verdict == "will-not-carve" and not shown.harmed
    note = f"harm in {harmed} of 120; {alarms} of the other {120 - harmed} stopped without harm"
    return Measured(0.0, figure=misses, unit="cuts", note=note)


@case(issue=4, name="axes of icons against the exact distance field, worst", n="520 icons", target=1.0)
def corpus() -> Measured:
    """In pixels, at two resolutions, along the whole axes of lines and of lands."""
    worst, seen = 0.0, 0
    for icon in icons(520):
        outline = outline_of(icon)
        if outline is not None:
            anatomy = study(outline)
            worst = max(worst, *(deviation(icon, anatomy, side) for side in RESOLUTIONS))
            seen += 1
    return Measured(0.0, figure=worst, unit="px", note=f"{seen} icons of 4 sets")
