"""The workshop's price list: a form with a row for everything that can have a price."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from service.language.chosen import L_, _
from service.language.woods import wood_words
from service.pages import words
from service.pages.bench import bench_session
from service.pages.calling import Api, CallError
from service.pages.forms import Sent, read_form
from service.pages.rendering import go, local, render
from service.pages.shop_settings import FINISHES

Json = Mapping[str, Any]
_WHOLE_ORDER = (
    ("carved-slat", "slat", L_("Each carved slat"), L_("where it has no price of its own below")),
    ("carving-minute", "minute", L_("Each minute of carving"), L_("as estimated for the proof")),
    ("personalised-piece", "text", L_("Each piece with a text of its own"), L_("names, numbers, dates")),
    ("order-setup", "setup", L_("Setting up an order"), L_("once per order")),
)
_WAY = (
    ("delivery", "delivery", L_("Delivering an order"), L_("once, where it is delivered")),
    ("travel", "travel", L_("Each kilometre"), L_("to the site and back, as you say on the order")),
)
_BASICS = ("currency", "minor_digits", "rounding", "deposit_percent", "valid_days")
_HUNDREDTHS = 2
"""Decimals of a percentage."""


@dataclass(frozen=True)
class Row:
    """One thing that can have a price; ``step``: from a number of pieces on, that is typed beside it."""

    kind: str
    key: str
    subject: str
    label: str
    hint: str = ""
    step: bool = False

    @property
    def named(self) -> bool:
        """Whether clients read words that the workshop gives it."""
        return self.kind == "tax"


async def prices_page(request: Request) -> Response:
    """The price list, and its versions before."""
    return await _show(request)


async def _show(
    request: Request,
    status: int = 200,
    *,
    trouble: str = "",
    sent: Sent | None = None,
    faults: Mapping[str, str] | None = None,
) -> Response:
    api = Api(request)
    session = await bench_session(api)
    prices = await api.get("/settings/prices")
    models = [model for model in (await api.get("/models"))["items"] if not model["retired"]]
    return render(
        request,
        "settings/prices.html",
        status,
        session=session,
        workshop=session["workshop"],
        prices=prices,
        versions=(await api.get("/settings/prices/versions"))["items"],
        groups=_groups(models),
        roundings={key: words.rounding(key) for key in words.ROUNDINGS},
        values=_values(prices, models) if sent is None else sent.values(),
        faults=faults or {},
        trouble=trouble,
        said=_("Saved. What clients have signed keeps its price.") if "saved" in request.query_params else "",
    )


def _groups(models: Sequence[Json]) -> list[tuple[str, list[Row]]]:
    """Heading and rows: models, what every order has, slats with a price of their own."""
    made = [Row("model", f"model-{m['key']}", m["key"], m["name"], _("one piece, uncarved")) for m in models]
    common = [Row(kind, key, "", label, hint) for kind, key, label, hint in _WHOLE_ORDER]
    steps = [
        Row("model", f"step-{m['key']}", m["key"], m["name"], _("each of so many or more"), step=True)
        for m in models
    ]
    finishes = [
        Row("finish", f"finish-{key}", key, words, _("each piece"))
        for key, (words, *_rest) in FINISHES.items()
    ]
    woods = sorted({slat["species"] for m in models for slat in m["slats"]})
    material = [
        Row(
            "material",
            f"wood-{wood}",
            wood,
            wood_words(wood),
            _("a cubic metre in the parts, without waste"),
        )
        for wood in woods
    ]
    way = [Row(kind, key, "", label, hint) for kind, key, label, hint in _WAY]
    taxes = [
        Row(
            "tax", f"tax-{number}", f"tax-{number}", _("Tax {number}", number=number), _("percent of the sum")
        )
        for number in (1, 2)
    ]
    slats = {slat["key"]: slat["name"] for m in models for slat in m["slats"] if slat["carries_art"]}
    own = [Row("carved-slat", f"slat-{key}", key, name) for key, name in sorted(slats.items())]
    return [
        (_("Furniture"), made),
        (_("Furniture, many at once"), steps),
        (_("Carving"), common),
        (_("Slats with a price of their own"), own),
        (_("Finishes"), finishes),
        (_("Material"), material),
        (_("Delivery"), way),
        (_("Taxes"), taxes),
    ]


def _priced(prices: Json) -> dict[tuple[str, str, bool], Json]:
    """A list's entries by what they are the price of: their keys are whatever whoever made the list chose."""
    return {(entry["kind"], entry["subject"], entry["from_pieces"] > 1): entry for entry in prices["entries"]}


def _others(prices: Json, groups: Sequence[tuple[str, Sequence[Row]]]) -> Iterator[Json]:
    """Prices that the form has no place for, such as a second step of quantity: they stay."""
    rows = {(row.kind, row.subject, row.step) for _, every in groups for row in every}
    shown = {entry["key"] for at, entry in _priced(prices).items() if at in rows}
    for entry in prices["entries"]:
        if entry["key"] not in shown:
            yield {**entry, "subject": entry["subject"] or None}


def _digits(row: Row, digits: int) -> int:
    """Decimals that are typed: of the currency, or of a percentage."""
    return _HUNDREDTHS if row.kind == "tax" else digits


def _values(prices: Json, models: Sequence[Json]) -> dict[str, str]:
    """The list as the form shows it."""
    priced = _priced(prices)
    shown: dict[str, str] = {}
    for row in (row for _title, rows in _groups(models) for row in rows):
        entry = priced.get((row.kind, row.subject, row.step))
        if entry is None:
            continue
        typed = Decimal(entry["price"]).scaleb(-_digits(row, prices["minor_digits"]))
        shown |= {
            f"price-{row.key}": f"{typed:f}",
            f"from-{row.key}": str(entry["from_pieces"]),
            f"words-{row.key}": entry["words"],
        }
    return shown | {name: str(prices[name]) for name in _BASICS}


async def save(request: Request) -> Response:
    """A new version of the price list."""
    sent = await read_form(request)
    api = Api(request)
    models = [model for model in (await api.get("/models"))["items"] if not model["retired"]]
    digits = sent.whole("minor_digits") or 0
    faults: dict[str, str] = {}
    prices = await api.get("/settings/prices")
    groups, before = _groups(models), _priced(prices)
    entries = [*_entries(sent, groups, digits, before, faults), *_others(prices, groups)]
    if faults:
        return await _show(request, 422, sent=sent, faults=faults)
    body = {
        "currency": sent.text("currency").upper(),
        "minor_digits": digits,
        "rounding": sent.text("rounding"),
        "entries": entries,
        "deposit_percent": sent.whole("deposit_percent") or 0,
        "valid_days": sent.whole("valid_days") or 0,
    }
    try:
        await api.send("PUT", "/settings/prices", body, revision=sent.whole("version") or 0)
    except CallError as refused:
        if refused.status not in {403, 409, 412, 422}:
            raise
        return await _show(request, refused.status, trouble=refused.words, sent=sent, faults=refused.fields)
    return go(local(sent.text("to"), "/bench/settings/prices?saved"))


def _entries(
    sent: Sent,
    groups: Sequence[tuple[str, Sequence[Row]]],
    digits: int,
    before: Mapping[tuple[str, str, bool], Json],
    faults: dict[str, str],
) -> Iterator[Json]:
    """The prices typed, in minor units; an empty field has none. What cannot be read goes to ``faults``.

    What had a price ``before`` keeps its key and words.
    """
    for row in (row for _title, rows in groups for row in rows):
        typed = sent.text(f"price-{row.key}").replace(" ", "").replace(",", ".")
        if not typed:
            continue
        try:
            minor = Decimal(typed).scaleb(_digits(row, digits))
            whole = int(minor)
        except (InvalidOperation, ValueError, OverflowError):
            faults[f"price-{row.key}"] = _("Give an amount such as 12.50, or leave it empty.")
            continue
        if minor != whole or whole < 0:
            faults[f"price-{row.key}"] = _(
                "Give 0 or more, with at most {digits} decimals.", digits=_digits(row, digits)
            )
            continue
        known = before.get((row.kind, row.subject, row.step), {"key": row.key, "words": ""})
        yield {
            "key": known["key"],
            "kind": row.kind,
            "price": whole,
            "subject": row.subject or None,
            "words": sent.text(f"words-{row.key}") if row.named else known["words"],
            "from_pieces": max(sent.whole(f"from-{row.key}") or 2, 2) if row.step else 1,
        }


ROUTES = (
    ("/bench/settings/prices", "GET", prices_page),
    ("/bench/settings/prices", "POST", save),
)
