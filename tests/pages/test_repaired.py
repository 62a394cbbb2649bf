"""A logo that will not carve, to the file for the machine: a version chosen, signed, exported as it was signed."""

from __future__ import annotations

import io
import re
import zipfile

import ezdxf
import numpy as np
import pytest
import shapely
from playwright.sync_api import expect
from sqlalchemy import select

from artwork.cut import Cut, Placement
from artwork.outline import polygons
from artwork.outline_file import unpack
from artwork.workpiece import Allowances
from seeds.shop import load
from service.store.tables import proofs
from tests.pages.steps import order_of, ready, sign, sign_in, start
from tests.running import Running, carvings

pytestmark = pytest.mark.browser

CHORDS = 0.002
"""Of the reference region, mm; the drawing's own are 0.005 (docs/batch-format.md)."""
WITHIN = 0.02


def region(running: Running, outline: str, placement: Placement) -> shapely.Geometry:
    """An outline as a carving lays it, slat mm."""
    shop = load()
    drawn = unpack(running.service.ctx.blobs.get(outline))
    slat = shop.model("longwalk-bench").slat("back-centre")
    placed = Cut(drawn, slat, placement, shop.bits[0], Allowances()).placed()
    return polygons([contour.polyline(CHORDS) for contour in placed.contours])


def farthest(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """Hausdorff distance of the edges, mm; GEOS looks at vertices alone, so edges are cut up first."""
    fine = [shapely.segmentize(each.boundary, 0.1) for each in (one, other)]
    return float(shapely.hausdorff_distance(*fine))


def test_what_is_exported_is_the_version_that_was_signed(somebody, running: Running):
    client, maker = somebody(), somebody()
    page = ready(start(client, art="thin-ring.svg"))
    order = order_of(page)
    before = carvings(running.maker().do("GET", f"/orders/{order}"))[0]
    page.get_by_role("button", name="Take this version").first.click()
    expect(page.locator("[data-chosen]")).to_be_visible()
    ready(page)
    sign(page)

    bench = sign_in(maker, f"/bench/orders/{order}")
    expect(bench.locator("[data-chosen]")).to_contain_text("Chosen by the client")
    expect(bench.locator(".history")).to_contain_text("version chosen")
    bench.get_by_role("button", name="Feasible: approve").click()
    bench.get_by_role("button", name="Release for production").click()
    expect(bench.get_by_role("heading", name=re.compile("released"))).to_be_visible()

    api = running.maker()
    batch = api.archived([order])
    archive = zipfile.ZipFile(io.BytesIO(api.get(batch["archive_url"]).content))
    (name,) = [each for each in archive.namelist() if each.endswith(".dxf")]
    space = ezdxf.read(io.StringIO(archive.read(name).decode())).modelspace()
    art = space.query("LWPOLYLINE[layer=='ART']")
    exported = polygons([np.array(line.get_points("xy")) for line in art])

    now = carvings(api.do("GET", f"/orders/{order}"))[0]
    ids = [each["proof"]["id"] for each in (before, now)]
    with running.service.ctx.store.reading() as connection:
        rows = connection.execute(select(proofs.c.id, proofs.c.outline).where(proofs.c.id.in_(ids))).all()
    sent, signed = (dict(map(tuple, rows))[each] for each in ids)
    placement = Placement(**now["placement"])
    assert farthest(exported, region(running, signed, placement)) < WITHIN
    assert sent != signed
    assert farthest(exported, region(running, sent, placement)) > 10 * WITHIN
