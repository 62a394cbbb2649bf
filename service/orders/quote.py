"""The quote: what an order costs, every figure traced to a price and a quantity. Part of what is signed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from service.orders.chain import canonical_digest
from service.orders.errors import ConflictError, FieldError, InvalidError
from service.orders.finishes import NAMES, Finish
from service.orders.price_list import (
    DEAREST,
    TAX_PARTS,
    UNIT,
    PriceEntry,
    PriceKind,
    PriceList,
    Rounding,
    amount_text,
)

_MINUTE_STEP = Decimal("0.1")
_WOOD_STEP = Decimal("0.0001")
NOT_INCLUDED = "Taxes and delivery are not included."


@dataclass(frozen=True)
class CarvedSlat:
    """One slat of a line's model that carries carved art, whatever art on whichever pieces.

    Attributes:
        slat_key, name: which slat.
        pieces: on how many pieces of the line.
        minutes: carving time of all of them together, as estimated for their proofs.
        personalised: how many of the pieces carry a text of their own.
    """

    slat_key: str
    name: str
    pieces: int
    minutes: float
    personalised: int = 0


@dataclass(frozen=True)
class QuotedLine:
    """What is counted of one line of an order.

    Attributes:
        finish: what is put on it.
        wood: key of each wood and how much of it the parts of one piece are, cubic metres, without waste.
    """

    position: int
    model_key: str
    model_name: str
    quantity: int
    carved: tuple[CarvedSlat, ...] = ()
    finish: Finish = Finish.BARE
    wood: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Delivery:
    """How an order gets to its site.

    Attributes:
        delivered: by the workshop; else the client fetches it.
        km: there and back; 0 where the maker says nothing.
    """

    delivered: bool = False
    km: float = 0.0


FETCHED = Delivery()


@dataclass(frozen=True)
class QuoteLine:
    """One figure of a quote: ``amount = round(quantity × price)``.

    Attributes:
        entry: key of the price within its list.
        words: what it is for.
        position: of the order's line; ``None`` for the whole order.
        quantity: how many, exact; minutes to a tenth.
        unit: of what.
        price: minor units for one.
        amount: minor units.
    """

    entry: str
    words: str
    position: int | None
    quantity: Decimal
    unit: str
    price: int
    amount: int


@dataclass(frozen=True)
class Quote:
    """An order's price as the client is shown it.

    Attributes:
        currency, minor_digits, rounding: of the price list.
        price_list_version, price_list: version and digest of the list it was made from.
        lines: every figure; their amounts add up to ``total`` exactly.
        total: minor units.
        deposit: minor units of it that are asked for in advance; noted, never handled here.
        valid_days: its prices hold so long from when it was first shown; 0: until the next list.
        not_included: what comes on top, in words.
    """

    currency: str
    minor_digits: int
    rounding: Rounding
    price_list_version: int
    price_list: str
    lines: tuple[QuoteLine, ...]
    total: int
    deposit: int = 0
    valid_days: int = 0
    not_included: str = NOT_INCLUDED

    @property
    def facts(self) -> dict[str, Any]:
        """The quote as plain JSON values; quantities as decimal text."""
        return {
            "currency": self.currency,
            "minor_digits": self.minor_digits,
            "rounding": self.rounding.value,
            "price_list_version": self.price_list_version,
            "price_list": self.price_list,
            "lines": [
                {
                    "entry": line.entry,
                    "words": line.words,
                    "position": line.position,
                    "quantity": str(line.quantity),
                    "unit": line.unit,
                    "price": line.price,
                    "amount": line.amount,
                }
                for line in self.lines
            ],
            "total": self.total,
            "not_included": self.not_included,
            **({"deposit": self.deposit} if self.deposit else {}),
            **({"valid_days": self.valid_days} if self.valid_days else {}),
        }

    @property
    def digest(self) -> str:
        """SHA-256 over the RFC 8785 canonical JSON of :attr:`facts`, hex: what a sign-off names."""
        return canonical_digest(self.facts)

    @property
    def sentence(self) -> str:
        """The total in words a client can check."""
        counted = (
            f"{_money(self.total, self)} by price list {self.price_list_version}; "
            f"each line rounded {self.rounding.value} to the smallest unit."
        )
        return " ".join(filter(None, (counted, self.not_included, self._in_advance)))

    @property
    def _in_advance(self) -> str:
        if not self.deposit:
            return ""
        return f"A deposit of {_money(self.deposit, self)} is asked for; it is paid to the workshop itself, not here."


@dataclass(frozen=True)
class SignedQuote:
    """A quote and when the client signed it."""

    quote: Quote
    signed_at: datetime


def quote_from(facts: Mapping[str, Any]) -> Quote:
    """The quote that :attr:`Quote.facts` came from."""
    return Quote(
        currency=facts["currency"],
        minor_digits=facts["minor_digits"],
        rounding=Rounding(facts["rounding"]),
        price_list_version=facts["price_list_version"],
        price_list=facts["price_list"],
        lines=tuple(QuoteLine(**{**line, "quantity": Decimal(line["quantity"])}) for line in facts["lines"]),
        total=facts["total"],
        deposit=facts.get("deposit", 0),
        valid_days=facts.get("valid_days", 0),
        not_included=facts.get("not_included", NOT_INCLUDED),
    )


def quote(lines: Sequence[QuotedLine], prices: PriceList, delivery: Delivery = FETCHED) -> Quote:
    """The price of an order.

    Taxes are shares of the sum of everything else, each rounded once.

    Carving minutes are an estimate, taken to a tenth of a minute per line and slat (ties to even).

    Raises:
        Invalid: the list lacks a price that the order needs, a count makes no sense, or the total is absurd.
    """
    problems = [*_count_problems(lines), *_missing(lines, prices)]
    if problems:
        raise InvalidError(*problems)
    figures = (*_figures(lines, prices), *_journey(prices, delivery))
    before_taxes = sum(figure.amount for figure in figures)
    figures += tuple(_taxes(prices, before_taxes))
    total = sum(figure.amount for figure in figures)
    if total >= DEAREST:
        raise InvalidError(
            FieldError("", "too-dear", "This order is too large to be quoted at once. Split it.")
        )
    return Quote(
        prices.currency,
        prices.minor_digits,
        prices.rounding,
        prices.version,
        prices.digest,
        figures,
        total,
        prices.rounding.whole(Decimal(total) * prices.deposit_percent / 100),
        prices.valid_days,
        _not_included(prices),
    )


def minutes_counted(minutes: float) -> Decimal:
    """Carving minutes as a quote counts them: to a tenth, ties to even."""
    return Decimal(repr(minutes)).quantize(_MINUTE_STEP, ROUND_HALF_EVEN)


def refuse_other_quote(shown: str, current: Quote, before: Quote | None = None) -> None:
    """Signing needs the quote as it stands.

    Args:
        shown: digest of the quote that the client saw; empty for none.
        current: as it stands now.
        before: the quote of that digest, where it is known: the refusal then names what has changed.

    Raises:
        Conflict: ``quote-changed`` where ``shown`` is not the current quote's digest.
    """
    if shown == current.digest:
        return
    total = _money(current.total, current)
    if not shown:
        raise ConflictError(
            "quote-changed", f"Signing agrees to the price too: {total}. Look at the quote first."
        )
    said = () if before is None else changes(before, current)
    what = " ".join(said) or f"By the newest price list the total is {total}."
    raise ConflictError("quote-changed", f"The quote has changed. {what} Look at the new quote, then sign.")


def changes(before: Quote, after: Quote) -> tuple[str, ...]:
    """What a new quote changes against an earlier one, a sentence per figure; empty for nothing."""
    old, new = ({_about(line): line for line in each.lines} for each in (before, after))
    said = [
        f"New: {line.words}, {_money(line.amount, after)}." for key, line in new.items() if key not in old
    ]
    said += [
        f"No longer: {line.words}, {_money(line.amount, before)}."
        for key, line in old.items()
        if key not in new
    ]
    for key, now in new.items():
        was = old.get(key, now)
        if was != now:
            said.append(
                f"{now.words}: {was.quantity} × {_money(was.price, before)} becomes "
                f"{now.quantity} × {_money(now.price, after)}, {_money(was.amount, before)} becomes "
                f"{_money(now.amount, after)}."
            )
    if before.total != after.total or before.currency != after.currency:
        said.append(f"The total changes from {_money(before.total, before)} to {_money(after.total, after)}.")
    return tuple(said)


def _about(line: QuoteLine) -> tuple[int | None, str, str]:
    """What a figure is about, whatever its price and quantity."""
    return line.position, line.entry, line.words


def _money(amount: int, quoted: Quote) -> str:
    return amount_text(amount, quoted.currency, quoted.minor_digits)


def _not_included(prices: PriceList) -> str:
    taxed = bool(prices.every(PriceKind.TAX))
    if prices.every(PriceKind.DELIVERY) or prices.every(PriceKind.TRAVEL):
        return "" if taxed else "Taxes are not included."
    return "Delivery is not included." if taxed else NOT_INCLUDED


def _journey(prices: PriceList, delivery: Delivery) -> Iterator[QuoteLine]:
    """Delivery once, and its way by the kilometre."""
    if delivery.delivered:
        yield from _figure(prices, prices.find(PriceKind.DELIVERY), 1, "delivery", None)
        km = Decimal(repr(delivery.km)).quantize(_MINUTE_STEP, ROUND_HALF_EVEN)
        yield from _figure(prices, prices.find(PriceKind.TRAVEL), km, "travel to the site and back", None)


def _taxes(prices: PriceList, total: int) -> Iterator[QuoteLine]:
    """The shop's own lines of taxes: which apply, and at what rate, the shop and its adviser know."""
    for entry in prices.every(PriceKind.TAX):
        share = Decimal(entry.price) / TAX_PARTS
        amount = prices.rounding.whole(share * total)
        yield QuoteLine(entry.key, entry.words, None, share, UNIT[entry.kind], total, amount)


def _figures(lines: Sequence[QuotedLine], prices: PriceList) -> Iterator[QuoteLine]:
    ordered = Counter[str]()
    for line in lines:
        ordered[line.model_key] += line.quantity
    for line in lines:
        at = line.position
        pieces = ordered[line.model_key]
        model = prices.find(PriceKind.MODEL, line.model_key, pieces)
        yield from _figure(prices, model, line.quantity, line.model_name, at)
        for wood, volume in line.wood:
            exact = (Decimal(repr(volume)) * line.quantity).quantize(_WOOD_STEP, ROUND_HALF_EVEN)
            material = prices.find(PriceKind.MATERIAL, wood)
            yield from _figure(prices, material, exact, f"{wood.replace('-', ' ')}: {line.model_name}", at)
        if line.finish is not Finish.BARE:
            finish = prices.find(PriceKind.FINISH, line.finish.value, pieces)
            yield from _figure(prices, finish, line.quantity, f"{NAMES[line.finish]}: {line.model_name}", at)
        for carved in line.carved:
            name = f"{line.model_name}, {carved.name}"
            slat = prices.find(PriceKind.CARVED_SLAT, carved.slat_key, pieces)
            minute = prices.find(PriceKind.CARVING_MINUTE)
            text = prices.find(PriceKind.PERSONALISED_PIECE)
            yield from _figure(prices, slat, carved.pieces, f"carving: {name}", at)
            yield from _figure(prices, minute, minutes_counted(carved.minutes), f"machine time: {name}", at)
            yield from _figure(prices, text, carved.personalised, f"own texts: {name}", at)
    if lines:
        yield from _figure(prices, prices.find(PriceKind.ORDER_SETUP), 1, "setting up the order", None)


def _figure(
    prices: PriceList, entry: PriceEntry | None, quantity: int | Decimal, words: str, position: int | None
) -> Iterator[QuoteLine]:
    """The figure, unless there is nothing to count or the shop asks nothing for it."""
    if entry is None or not quantity:
        return
    exact = Decimal(quantity)
    yield QuoteLine(
        entry.key,
        f"{entry.words}: {words}" if entry.words else words,
        position,
        exact,
        UNIT[entry.kind],
        entry.price,
        prices.rounding.whole(exact * entry.price),
    )


def _missing(lines: Sequence[QuotedLine], prices: PriceList) -> Iterator[FieldError]:
    """Prices an order must not do without: its models, and carving where slats are carved."""

    def wanted(kind: PriceKind, subject: str, what: str) -> Iterator[FieldError]:
        if prices.find(kind, subject) is None:
            yield FieldError(
                "", "no-price", f"The price list has no price for {what}. Add one, then quote again."
            )

    for line in lines:
        yield from wanted(PriceKind.MODEL, line.model_key, f"the model “{line.model_name}”")
        for carved in line.carved:
            slat = f"carving on “{carved.name}” of “{line.model_name}”"
            yield from wanted(PriceKind.CARVED_SLAT, carved.slat_key, slat)
            if carved.personalised:
                yield from wanted(PriceKind.PERSONALISED_PIECE, "", "texts of their own per piece")


def _count_problems(lines: Sequence[QuotedLine]) -> Iterator[FieldError]:
    for at, line in enumerate(lines):
        if line.quantity < 1:
            yield FieldError(f"lines.{at}.quantity", "quantity", "Order at least one piece.")
        if len({carved.slat_key for carved in line.carved}) < len(line.carved):
            yield FieldError(f"lines.{at}.carved", "same-slat-twice", "Count each slat of a line once.")
        for carved in line.carved:
            counts = 0 <= carved.personalised <= carved.pieces <= line.quantity
            if not counts or not 0 <= carved.minutes < 10**7:
                yield FieldError(
                    f"lines.{at}.carved",
                    "carved-count",
                    f"The counts for “{carved.name}” do not go together: {carved.pieces} of {line.quantity} "
                    f"pieces, {carved.personalised} with texts of their own, {carved.minutes:g} minutes.",
                )
