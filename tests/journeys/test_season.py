"""A season at the bench, through the public API: thirty chairs, boards, sheets, a knot, a breakage, six more."""

from __future__ import annotations

import csv
import io
import zipfile
from collections import Counter

import ezdxf
import pytest

from seeds.shop import load
from tests.running import API, Caller, Json, Running, art, carvings, revision, shown

CHAIR = "fernhollow-chair"


def approved(running: Running, client: Caller, order: Json) -> Json:
    """The order sent in, signed and judged feasible."""
    maker = running.maker()
    client.do("POST", f"/orders/{order['id']}/submission", headers=revision(order))
    maker.do("POST", f"/orders/{order['id']}/offers", json={"shown": shown(client.order(order["id"]))})
    signed = client.sign(client.order(order["id"]))
    judged: Json = maker.do(
        "POST", f"/orders/{order['id']}/feasibility", json={"shown": shown(client.order(signed["id"]))}
    )
    return judged


def released(running: Running, client: Caller, order: Json) -> Json:
    """The order at the bench."""
    judged = approved(running, client, order)
    sent: Json = running.maker().do(
        "POST", f"/orders/{order['id']}/release", json={"shown": shown(judged)}, headers=revision(judged)
    )
    return sent


def chairs(running: Running, pieces: int, **more: object) -> tuple[Caller, Json]:
    """An order of chairs with the crest on the wide slat, checked."""
    lines = [{"model_key": CHAIR, "quantity": pieces, "slats": ["back-centre"]}]
    placed = running.caller().send_order(lines=lines, **more)
    client = running.caller(placed["link_token"])
    order = placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [carving["id"] for carving in carvings(order)])
    return client, client.settled(order["id"])


def files_of(maker: Caller, order: Json) -> dict[str, bytes]:
    """What a batch holds of the whole order, by file name."""
    batch = maker.archived([order["id"]], seconds=240)
    with zipfile.ZipFile(io.BytesIO(maker.get(batch["archive_url"]).content)) as opened:
        inside = [name for name in opened.namelist() if name.count("/") == 3 and "/order-" in name]
        return {name.rsplit("/", 1)[1]: opened.read(name) for name in inside}


@pytest.fixture(scope="module")
def resort(running: Running) -> tuple[Caller, Json]:
    """Thirty chairs for a resort, at the bench."""
    client, order = chairs(running, 30, note="To Lantern Lane 4")
    return client, released(running, client, order)


def test_thirty_chairs_leave_with_everything_to_cut_from(running: Running, resort):
    maker, (_, order) = running.maker(), resort
    work = maker.do("GET", f"/orders/{order['id']}/work")
    files = files_of(maker, order)
    assert {"job-sheet.pdf", "labels.pdf", "packing-list.pdf", "parts-list.csv"} <= set(files)
    rows = list(csv.DictReader(io.StringIO(files["parts-list.csv"].decode("utf-8-sig"))))
    assert Counter(row["part"] for row in rows) == {
        part.name: 30 * part.count for part in load().model(CHAIR).all_parts
    }
    drawn = [ezdxf.read(io.StringIO(data.decode())) for name, data in files.items() if name.endswith(".dxf")]
    boards = [board for bed in drawn for board in bed.query("LWPOLYLINE[layer=='BOARD']")]
    assert len(boards) == len({row["board"] for row in rows}) == work["boards"]
    # common practice, no source: about four and a half 8-ft boards a chair
    assert work["boards"] / 30 == pytest.approx(4.5, abs=0.2)
    edges = [edge for bed in drawn for edge in bed.query("LWPOLYLINE[layer=='STRAIGHT_CUT_THROUGH']")]
    assert len(edges) == len(rows)
    assert b"Lantern Lane 4" in files["job-sheet.pdf"]


def test_a_knot_is_made_again_and_a_broken_slat_after_delivery_too(running: Running, resort):
    maker, (client, order) = running.maker(), resort
    path = f"/orders/{order['id']}"
    keys = [f"1-{piece}-1-back-centre" for piece in range(1, 31)]
    maker.do("POST", f"{path}/ticks", json={"items": keys, "seen": "to-carve", "to": "carved"})
    again = maker.do("POST", f"{path}/items/{keys[6]}/remake", json={"reason": "knot"})
    assert (again["key"], again["state"], again["digest"]) == (
        "1-7-2-back-centre",
        "to-carve",
        carvings(order)[0]["proof"]["digest"],
    )
    twice = maker.post(f"{API}{path}/items/{keys[6]}/remake", json={"reason": "knot"})
    assert (twice.status_code, twice.json()["type"]) == (409, "/problems/already-remade")
    sheets = zipfile.ZipFile(io.BytesIO(maker.get(f"{API}{path}/remakes.zip").content))
    assert b"1-7-2-back-centre" in sheets.read("bed-01.svg")
    every = maker.do("GET", f"{path}/items")["items"]
    for state in ("carved", "to-carve", "to-cut"):
        these = [item["key"] for item in every if item["state"] == state]
        maker.do("POST", f"{path}/ticks", json={"items": these, "seen": state, "to": "packed"})
    assert maker.do("GET", f"{path}/items")["counts"] == {"packed": 180, "broken": 1}
    now = client.order(order["id"])
    assert now["state"] == "in-production"
    maker.do("POST", f"{path}/completion", headers=revision(now))
    fallen = maker.do("POST", f"{path}/items/1-9-1-seat-front/remake", json={"reason": "dropped"})
    assert fallen["key"] == "1-9-2-seat-front"
    assert client.order(order["id"])["state"] == "done"
    kinds = [entry["kind"] for entry in client.do("GET", f"{path}/decisions")["items"]]
    assert kinds.count("remake") == 2 and kinds.count("sign-off") == 1
    assert maker.do("GET", "/record/verification")["holds"]


def test_six_more_of_the_same_are_ordered_changed_and_released(running: Running, resort):
    maker, (client, order) = running.maker(), resort
    placed = client.do("POST", f"/orders/{order['id']}/copies", status=201)
    guest, copy = running.caller(placed["link_token"]), placed["order"]
    guest.settled(copy["id"])
    copy = guest.order(copy["id"])
    assert copy["note"] == "To Lantern Lane 4"
    lines = [{"id": copy["lines"][0]["id"], "quantity": 6}]
    ask = {"json": {"lines": lines, "rights_granted": True}, "headers": revision(copy)}
    guest.do("PATCH", f"/orders/{copy['id']}", **ask)
    judged = approved(running, guest, guest.settled(copy["id"]))
    # changed after signing: both approvals are asked for again
    carving = carvings(judged)[0]
    seen = shown(judged)[0]
    guest.do("POST", "/change-requests", json={"shown": seen, "words": "A little smaller, please."})
    carving = carvings(guest.order(copy["id"]))[0]
    smaller = {**carving["placement"], "scale": 0.9 * carving["placement"]["scale"]}
    maker.do("PUT", f"/carvings/{carving['id']}/placement", json=smaller, headers=revision(carving))
    guest.settled(copy["id"])
    maker.do("POST", f"/orders/{copy['id']}/offers", json={"shown": shown(guest.order(copy["id"]))})
    guest.sign(guest.order(copy["id"]))
    ready = maker.do(
        "POST", f"/orders/{copy['id']}/feasibility", json={"shown": shown(guest.order(copy["id"]))}
    )
    done = maker.do(
        "POST", f"/orders/{copy['id']}/release", json={"shown": shown(ready)}, headers=revision(ready)
    )
    assert done["state"] == "released"
    assert maker.do("GET", f"/orders/{copy['id']}/items")["counts"] == {"to-carve": 6, "to-cut": 30}


def test_nothing_is_remade_before_its_release(running: Running):
    _, order = chairs(running, 1)
    maker = running.maker()
    path = f"{API}/orders/{order['id']}/items/1-1-1-back-centre/remake"
    refused = maker.post(path, json={"reason": "knot"})
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/not-released")


def test_ten_of_twelve_go_earlier_and_are_delivered_by_themselves(running: Running):
    maker = running.maker()
    client, order = chairs(running, 12, delivery_address="Lantern Lane 4\nAlderholt")
    judged = approved(running, client, order)
    total = client.do("GET", f"/orders/{order['id']}/quote")["signed"]["total"]
    line = judged["lines"][0]["id"]
    ask = {"lines": [{"line_id": line, "quantity": 13}]}
    path = f"{API}/orders/{order['id']}/parts"
    refused = maker.post(path, json=ask, headers=revision(judged))
    assert (refused.status_code, "cannot go earlier" in refused.text) == (422, True)
    ask = {"lines": [{"line_id": line, "quantity": 10}], "needed_by": "2027-03-01"}
    part = maker.do("POST", f"/orders/{order['id']}/parts", json=ask, headers=revision(judged), status=201)
    assert (part["lines"][0]["quantity"], part["part_of"], part["needed_by"]) == (
        10,
        order["id"],
        "2027-03-01",
    )
    early = maker.do(
        "POST", f"/orders/{part['id']}/release", json={"shown": shown(part)}, headers=revision(part)
    )
    assert maker.do("GET", f"/orders/{part['id']}/items")["counts"] == {"to-carve": 10, "to-cut": 50}
    files = files_of(maker, early)
    assert b"Lantern Lane 4" in files["packing-list.pdf"] and b"part of order" in files["job-sheet.pdf"]
    keys = [item["key"] for item in maker.do("GET", f"/orders/{part['id']}/items")["items"]]
    for seen in ("to-carve", "to-cut"):
        these = [key for key in keys if ("back-centre" in key) == (seen == "to-carve")]
        maker.do("POST", f"/orders/{part['id']}/ticks", json={"items": these, "seen": seen, "to": "packed"})
    done = maker.do("POST", f"/orders/{part['id']}/completion", headers=revision(maker.order(part["id"])))
    rest = maker.order(order["id"])
    assert (done["state"], rest["state"], rest["lines"][0]["quantity"]) == ("done", "submitted", 2)
    for each in (order["id"], part["id"]):
        assert maker.do("GET", f"/orders/{each}/quote")["current"]["total"] == total
    late = maker.do(
        "POST", f"/orders/{rest['id']}/release", json={"shown": shown(rest)}, headers=revision(rest)
    )
    assert late["state"] == "released"


def test_oak_slats_with_cedar_parts_a_quarter_inch_round_and_paint_in_the_grooves(running: Running):
    maker = running.maker()
    shop = maker.do("GET", "/settings")["workshop"]
    body = {
        name: shop[name]
        for name in ("name", "allowances", "usual_bit", "retention_days", "place", "phone", "email")
    }
    finish = {"finish": "paint-filled", "least_width": 1.0, "film": 0.05}
    maker.do("PUT", "/settings/workshop", json={**body, "finishes": [finish]}, headers=revision(shop))
    chair = maker.do("GET", f"/models/{CHAIR}")
    model = {name: held for name, held in chair.items() if name not in {"key", "revision", "retired"}}
    model |= {"name": "Oak-backed chair"}
    model["slats"] = [{**slat, "species": "white-oak", "round_over": 6.35} for slat in chair["slats"]]
    slats = {slat["key"] for slat in chair["slats"]}
    model["parts"] = [
        {**part, "wood": "" if part["key"] in slats else "western-redcedar"} for part in chair["parts"]
    ]
    maker.do("PUT", "/settings/models/oak-chair", json=model, headers={"If-Match": '"0"'})
    lines = [{"model_key": "oak-chair", "quantity": 2, "slats": ["back-centre"], "finish": "paint-filled"}]
    maker_prices = maker.do("GET", "/settings/prices")
    entries = [
        {
            **{name: each[name] for name in ("key", "kind", "price", "words")},
            "subject": each["subject"] or None,
        }
        for each in maker_prices["entries"]
    ]
    entries += [
        {"key": "oak-chair", "kind": "model", "price": 79_900, "subject": "oak-chair"},
        {"key": "paint", "kind": "finish", "price": 2_500, "subject": "paint-filled"},
    ]
    prices = {"currency": "USD", "entries": entries}
    maker.do("PUT", "/settings/prices", json=prices, headers={"If-Match": f'"{maker_prices["version"]}"'})
    placed = running.caller().send_order(lines=lines)
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [each["id"] for each in carvings(order)])
    order = client.settled(order["id"])
    facts = carvings(order)[0]["proof"]["facts"]["slat"]
    assert (facts["finish"], facts["species"], facts["round_over"]) == ("paint-filled", "white-oak", 6.35)
    quote = client.do("GET", f"/orders/{order['id']}/quote")["current"]
    assert [line["amount"] for line in quote["lines"] if line["entry"] == "paint"] == [5_000]
    files = files_of(maker, released(running, client, order))
    rows = list(csv.DictReader(io.StringIO(files["parts-list.csv"].decode("utf-8-sig"))))
    assert {row["wood"] for row in rows if row["key"].count("-1-") and "back-centre" in row["key"]} == {
        "white-oak"
    }
    assert {row["wood"] for row in rows if "arm" in row["part"]} == {"western-redcedar"}
    by_board: dict[str, set[str]] = {}
    for row in rows:
        by_board.setdefault(row["board"], set()).add(row["wood"])
    assert all(len(woods) == 1 for woods in by_board.values()), "no board is of two woods"
    sheet = files["job-sheet.pdf"]
    for words in (b"outdoor", b"6.350 mm radius", b"carcinogen"):
        assert words in sheet, words
