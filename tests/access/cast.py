"""The standing cast: two workshops with clients, a helper, sites, and everybody who must get nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from seeds.shop import load
from service.access import second_factor
from service.access.links import make_link
from service.orders.actors import Role, Scope, System
from service.usecases import people, shop
from tests.running import FROM_HERE, Caller, Json, Running, art, carvings, revision, shown

OTHER_KEY = "hollinside"
STRICT_KEY = "withymead"
"""Of the workshop that asks a second step of everybody; its maker has none yet."""
SECRET = "a long enough walnut secret"

MEMBERS = (
    "maker",
    "helper",
    "client",
    "other-client",
    "foreign-maker",
    "foreign-client",
    "site",
    "reading-site",
    "stranger",
    "lapsed-link",
    "revoked-token",
    "unready-maker",
)


@dataclass(frozen=True)
class Things:
    """What the calls are about; all of it belongs to the client's order unless it says otherwise.

    Attributes:
        order: made and done, with one proved carving: no step is open from there to anybody.
        released: another order of the same workshop, at the bench.
        spare: another one whose links may be revoked; it has a list of texts, ``suite``.
    """

    order: Json
    released: Json
    spare: Json
    batch: str
    job: str
    helper_id: str
    link: str
    suite: str
    mark: str

    @property
    def carving(self) -> Json:
        """The one carving."""
        return carvings(self.order)[0]


@dataclass(frozen=True)
class Cast:
    """Everybody by name, the things they try to reach, and the client of the order at the bench."""

    callers: dict[str, Caller]
    things: Things
    bench_client: Caller


def assemble(running: Running) -> Cast:
    """Bring everybody together."""
    ctx = running.service.ctx
    facts = load()
    mine = shop.find_workshop(ctx, "oxbarrow")
    theirs = shop.open_workshop(ctx, OTHER_KEY, "Hollinside Joinery", facts.bits[0], facts.allowances)
    shop.save_model(ctx, System(theirs.id), facts.model("longwalk-bench"), {}, 0)
    helper = people.open_account(
        ctx, mine.id, "wilf@oxbarrow.example", name="Wilf Oxbarrow", role=Role.HELPER, password=SECRET
    )
    people.open_account(
        ctx, theirs.id, "maud@hollinside.example", name="Maud Hollinside", role=Role.MAKER, password=SECRET
    )
    _strict_workshop(running)
    maker = running.maker()
    placed, order = _released(running, maker)
    batch = maker.archived([order["id"]])["id"]
    for step in ("production", "completion"):
        order = maker.do("POST", f"/orders/{order['id']}/{step}", headers=revision(order))
    at_bench, released = _released(running, maker)
    spare = running.caller().send_order()["order"]
    foreign = running.caller().do(
        "POST", f"/workshops/{OTHER_KEY}/orders", status=201, json={"rights_granted": True}
    )
    now = datetime.now(UTC)
    with ctx.store.writing() as connection:
        lapsed = make_link(connection, order["id"], mine.id, now - timedelta(days=90)).token
        link = make_link(connection, spare["id"], mine.id, now).id
    every_scope = [scope.value for scope in Scope]
    revoked = _token(maker, every_scope)
    maker.do("DELETE", f"/tokens/{revoked['id']}", status=204)
    callers = {
        "maker": maker,
        "helper": _signed_in(running, "wilf@oxbarrow.example"),
        "client": running.caller(placed["link_token"]),
        "other-client": running.caller(running.caller().send_order()["link_token"]),
        "foreign-maker": _signed_in(running, "maud@hollinside.example"),
        "foreign-client": running.caller(foreign["link_token"]),
        "site": running.caller(_token(maker, every_scope)["secret"]),
        "reading-site": running.caller(_token(maker, [Scope.ORDERS_READ.value])["secret"]),
        "stranger": running.caller(),
        "lapsed-link": running.caller(lapsed),
        "revoked-token": running.caller(revoked["secret"]),
        "unready-maker": _signed_in(running, "odo@withymead.example"),
    }
    job = maker.do("GET", f"/orders/{order['id']}/jobs")["items"][0]["id"]
    suite = _listed(maker, spare)
    things = Things(order, released, spare, batch, job, helper, link, suite, _mark(running, maker))
    return Cast(callers, things, running.caller(at_bench["link_token"]))


def _strict_workshop(running: Running) -> None:
    ctx, facts = running.service.ctx, load()
    strict = shop.open_workshop(ctx, STRICT_KEY, "Withymead Chairs", facts.bits[0], facts.allowances)
    shop.save_model(ctx, System(strict.id), facts.model("longwalk-bench"), {}, 0)
    people.open_account(
        ctx, strict.id, "odo@withymead.example", name="Odo Withymead", role=Role.MAKER, password=SECRET
    )
    with ctx.store.writing() as connection:
        second_factor.require(connection, strict.id, required=True)


def door_of(member: str) -> str:
    """The workshop at whose public door a member stands: their own, where that is to be shut to them."""
    return STRICT_KEY if member == "unready-maker" else "oxbarrow"


def _proved(running: Running) -> tuple[Json, Json]:
    placed = running.caller().send_order()
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
    order = client.settled(order["id"])
    order = client.do("POST", f"/orders/{order['id']}/submission", headers=revision(order))
    return placed, order


def _mark(running: Running, maker: Caller) -> str:
    """The id of a mark that waits for approval."""
    placed = running.caller().send_order()
    client, order = running.caller(placed["link_token"]), placed["order"]
    client.upload(order["id"], "crest.svg", art("crest.svg"), [carvings(order)[0]["id"]])
    seen = shown(client.settled(order["id"]))[0]
    made: str = maker.do("POST", "/settings/marks", status=201, json=seen)["id"]
    return made


def _listed(maker: Caller, order: Json) -> str:
    """The id of a list of texts on a slat of that order."""
    given = {
        "line_id": order["lines"][0]["id"],
        "slat_key": "back-left-3",
        "rule": {"typeface": "lato-bold", "cap_height": 30, "least_cap_height": 20},
        "texts": "Rosa\nEwan",
        "turn_deg": 90,
    }
    maker.do("PUT", f"/orders/{order['id']}/names", json=given, headers=revision(order))
    found: str = maker.do("GET", f"/orders/{order['id']}/suites")["items"][0]["id"]
    return found


def _released(running: Running, maker: Caller) -> tuple[Json, Json]:
    placed, order = _proved(running)
    client, path = running.caller(placed["link_token"]), f"/orders/{order['id']}"
    maker.do("POST", f"{path}/offers", json={"shown": shown(order)})
    client.sign(order)
    order = maker.do("POST", f"{path}/feasibility", json={"shown": shown(order)})
    order = maker.do("POST", f"{path}/release", json={"shown": shown(order)}, headers=revision(order))
    return placed, order


def _token(maker: Caller, scopes: list[str]) -> Json:
    made: Json = maker.do("POST", "/tokens", status=201, json={"name": "site", "scopes": scopes})
    return made


def _signed_in(running: Running, email: str) -> Caller:
    caller = running.caller(headers=FROM_HERE)
    caller.do("POST", "/session", json={"email": email, "password": SECRET})
    return caller
