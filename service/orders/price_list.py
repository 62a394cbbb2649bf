"""What a workshop asks for its work: a dated list of prices in whole minor units of one currency."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from enum import StrEnum
from functools import cached_property
from typing import Any

from service.orders.chain import canonical_digest
from service.orders.errors import FieldError, InvalidError

_CURRENCY = re.compile(r"[A-Z]{3}")
LONGEST_VALID = 366
"""Days that a quote may hold."""
DEAREST = 10**12
"""No price and no total may reach this many minor units: exact in every JSON reader (up to 2⁵³)."""


class PriceKind(StrEnum):
    """What one price is for, and so what is counted."""

    MODEL = "model"
    CARVED_SLAT = "carved-slat"
    CARVING_MINUTE = "carving-minute"
    ORDER_SETUP = "order-setup"
    PERSONALISED_PIECE = "personalised-piece"
    FINISH = "finish"
    MATERIAL = "material"
    DELIVERY = "delivery"
    TRAVEL = "travel"
    TAX = "tax"


UNIT = {
    PriceKind.MODEL: "piece",
    PriceKind.CARVED_SLAT: "carved slat",
    PriceKind.CARVING_MINUTE: "minute",
    PriceKind.ORDER_SETUP: "order",
    PriceKind.PERSONALISED_PIECE: "personalised piece",
    PriceKind.FINISH: "piece",
    PriceKind.MATERIAL: "cubic metre",
    PriceKind.DELIVERY: "delivery",
    PriceKind.TRAVEL: "km",
    PriceKind.TAX: "of the sum",
}
_SUBJECTS = frozenset(
    {PriceKind.MODEL, PriceKind.CARVED_SLAT, PriceKind.FINISH, PriceKind.MATERIAL, PriceKind.TAX}
)
"""Kinds whose prices may be for a subject."""
_STEPPED = frozenset({PriceKind.MODEL, PriceKind.CARVED_SLAT, PriceKind.FINISH})
"""Kinds whose prices may have steps of quantity."""
TAX_PARTS = 10_000
"""A tax's price is a share of the sum, in hundredths of a percent."""


class Rounding(StrEnum):
    """How a fraction of a minor unit is rounded; once per line of a quote, never again.

    ``half-even``: to the nearest, a tie to the even one (IEEE 754's default). ``half-up``: a tie away from
    zero.
    """

    HALF_EVEN = "half-even"
    HALF_UP = "half-up"

    def whole(self, amount: Decimal) -> int:
        """The amount in whole minor units."""
        mode = ROUND_HALF_EVEN if self is Rounding.HALF_EVEN else ROUND_HALF_UP
        return int(amount.quantize(Decimal(1), mode))


@dataclass(frozen=True)
class PriceEntry:
    """One price.

    Attributes:
        key: names it within its list; a quote's line points at it.
        kind: what is counted.
        price: minor units for one of it; of a tax, hundredths of a percent of the sum before taxes.
        subject: model key (``MODEL``, must be given), slat key (``CARVED_SLAT``, empty for every slat), finish
            (``FINISH``), wood (``MATERIAL``, empty for every wood), a name of its own (``TAX``); empty for others.
        words: what people read on the quote.
        from_pieces: of that model in the order, from which on the price holds: a step of quantity; 1 for every number.
    """

    key: str
    kind: PriceKind
    price: int
    subject: str = ""
    words: str = ""
    from_pieces: int = 1


@dataclass(frozen=True)
class PriceList:
    """All prices of a workshop at one time. A change makes a new version; old quotes keep pointing at theirs.

    Attributes:
        version: counted from 1.
        currency: ISO 4217 code.
        minor_digits: decimals of the currency (2: cents; 0: none).
        rounding: how each line of a quote is rounded.
        entries: the prices.
        deposit_percent: of the total, asked for in advance and noted on the quote; 0 for none. Nothing is paid here.
        valid_days: a quote's prices hold so long from when it was first shown, whatever list follows; 0: until the
            next list.
    """

    version: int
    currency: str
    minor_digits: int
    rounding: Rounding
    entries: tuple[PriceEntry, ...]
    deposit_percent: int = 0
    valid_days: int = 0

    def __post_init__(self) -> None:
        problems = tuple(_problems(self))
        if problems:
            raise InvalidError(*problems)

    def find(self, kind: PriceKind, subject: str = "", pieces: int = 1) -> PriceEntry | None:
        """The price for that subject, else the one for every subject of the kind, else ``None``.

        Of several steps, the highest that so many ``pieces`` reach.
        """
        reached = sorted(
            (entry for entry in self.entries if entry.kind is kind and entry.from_pieces <= pieces),
            key=lambda entry: entry.from_pieces,
        )
        of_kind = {entry.subject: entry for entry in reached}
        return of_kind.get(subject) or of_kind.get("")

    def every(self, kind: PriceKind) -> tuple[PriceEntry, ...]:
        """All prices of a kind, in their order."""
        return tuple(entry for entry in self.entries if entry.kind is kind)

    @property
    def facts(self) -> dict[str, Any]:
        """The list as plain JSON values."""
        return {
            "version": self.version,
            "currency": self.currency,
            "minor_digits": self.minor_digits,
            "rounding": self.rounding.value,
            "entries": [
                {
                    "key": entry.key,
                    "kind": entry.kind.value,
                    "price": entry.price,
                    "subject": entry.subject,
                    "words": entry.words,
                    **({} if entry.from_pieces == 1 else {"from_pieces": entry.from_pieces}),
                }
                for entry in self.entries
            ],
            **({"deposit_percent": self.deposit_percent} if self.deposit_percent else {}),
            **({"valid_days": self.valid_days} if self.valid_days else {}),
        }

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the RFC 8785 canonical JSON of :attr:`facts`, hex."""
        return canonical_digest(self.facts)


def price_list_from(facts: Mapping[str, Any]) -> PriceList:
    """The list that :attr:`PriceList.facts` came from. KeyError, ValueError or Invalid for anything else."""
    return PriceList(
        int(facts["version"]),
        str(facts["currency"]),
        int(facts["minor_digits"]),
        Rounding(facts["rounding"]),
        tuple(
            PriceEntry(
                entry["key"],
                PriceKind(entry["kind"]),
                entry["price"],
                entry["subject"],
                entry["words"],
                entry.get("from_pieces", 1),
            )
            for entry in facts["entries"]
        ),
        facts.get("deposit_percent", 0),
        facts.get("valid_days", 0),
    )


def amount_text(amount: int, currency: str, minor_digits: int) -> str:
    """``"USD 1,234.50"``: the ISO code, thousands by commas, as many decimals as the currency has."""
    sign, whole = ("−" if amount < 0 else ""), abs(amount)
    units, rest = divmod(whole, 10**minor_digits)
    decimals = f".{rest:0{minor_digits}d}" if minor_digits else ""
    return f"{currency} {sign}{units:,}{decimals}"


def _problems(prices: PriceList) -> Iterator[FieldError]:
    if not _CURRENCY.fullmatch(prices.currency):
        yield FieldError(
            "currency", "currency", "Give the currency as its three-letter ISO code, such as USD."
        )
    if not 0 <= prices.minor_digits <= 4:
        yield FieldError("minor_digits", "minor-digits", "A currency has 0 to 4 decimals; most have 2.")
    if not 0 <= prices.deposit_percent <= 100:
        yield FieldError("deposit_percent", "out-of-range", "A deposit is 0 to 100 percent of the total.")
    if not 0 <= prices.valid_days <= LONGEST_VALID:
        yield FieldError("valid_days", "out-of-range", f"A quote holds for 0 to {LONGEST_VALID} days.")
    if prices.version < 1:
        yield FieldError("version", "version", "Versions are counted from 1.")
    for at, entry in enumerate(prices.entries):
        yield from _entry_problems(f"entries.{at}", entry)
    for key, times in Counter(entry.key for entry in prices.entries).items():
        if times > 1:
            yield FieldError("entries", "same-key", f"Two prices are called “{key}”. Give each its own name.")
    said = Counter((entry.kind, entry.subject, entry.from_pieces) for entry in prices.entries)
    for (kind, subject, step), times in said.items():
        if times > 1:
            what = f"{kind.value} {subject}".strip() + (f" from {step} pieces" if step > 1 else "")
            yield FieldError("entries", "same-price-twice", f"There are two prices for {what}. Keep one.")


def _entry_problems(at: str, entry: PriceEntry) -> Iterator[FieldError]:
    if not entry.key:
        yield FieldError(f"{at}.key", "no-key", "Give every price a name of its own.")
    if isinstance(entry.price, bool) or not isinstance(entry.price, int):
        yield FieldError(f"{at}.price", "price", "Give prices in whole minor units (cents), without a point.")
    elif not 0 <= entry.price < DEAREST:
        yield FieldError(f"{at}.price", "price", "A price is 0 or more, and less than a million million.")
    if entry.kind is PriceKind.MODEL and not entry.subject:
        yield FieldError(f"{at}.subject", "no-model", "Say which model this price is for.")
    if entry.kind is PriceKind.TAX and not (entry.subject and entry.words):
        yield FieldError(
            f"{at}.words", "no-tax", "Give the tax a name of its own, and the words clients read."
        )
    if entry.kind is PriceKind.TAX and isinstance(entry.price, int) and entry.price > TAX_PARTS:
        yield FieldError(
            f"{at}.price", "price", "A tax is at most the whole sum: give hundredths of a percent."
        )
    if entry.from_pieces < 1 or (entry.from_pieces > 1 and entry.kind not in _STEPPED):
        yield FieldError(
            f"{at}.from_pieces",
            "step",
            "Steps of quantity are from 2 pieces on, of models, carved slats and finishes.",
        )
    if entry.subject and entry.kind not in _SUBJECTS:
        yield FieldError(
            f"{at}.subject", "no-subject", f"A price per {UNIT[entry.kind]} is the same for all."
        )
