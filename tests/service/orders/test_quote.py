"""Quotes: every figure traceable, totals exact, rounding as named."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.orders.errors import ConflictError, InvalidError
from service.orders.price_list import (
    PriceEntry,
    PriceKind,
    PriceList,
    Rounding,
    amount_text,
    price_list_from,
)
from service.orders.quote import CarvedSlat, QuotedLine, changes, minutes_counted, quote, refuse_other_quote

BENCH = PriceEntry("bench", PriceKind.MODEL, 129_900, "longwalk-bench")
CHAIR = PriceEntry("chair", PriceKind.MODEL, 59_900, "fernhollow-chair")
SLAT = PriceEntry("slat", PriceKind.CARVED_SLAT, 1_800)
RAIL = PriceEntry("rail", PriceKind.CARVED_SLAT, 4_500, "back-rail")
MINUTE = PriceEntry("minute", PriceKind.CARVING_MINUTE, 95)
SETUP = PriceEntry("setup", PriceKind.ORDER_SETUP, 6_000)
TEXT = PriceEntry("text", PriceKind.PERSONALISED_PIECE, 700)
PRICES = PriceList(3, "USD", 2, Rounding.HALF_EVEN, (BENCH, CHAIR, SLAT, RAIL, MINUTE, SETUP, TEXT))

GARDEN = (
    QuotedLine(
        0,
        "longwalk-bench",
        "Longwalk bench",
        4,
        (
            CarvedSlat("back-rail", "back rail", 4, 130.0),
            CarvedSlat("back-centre", "wide centre back slat", 4, 73.25),
        ),
    ),
    QuotedLine(
        1, "fernhollow-chair", "Fernhollow chair", 30, (CarvedSlat("back-centre", "wide", 30, 241.3, 30),)
    ),
)


def test_a_garden_order_worked_by_hand():
    found = quote(GARDEN, PRICES)
    assert [(line.entry, str(line.quantity), line.amount) for line in found.lines] == [
        ("bench", "4", 519_600),
        ("rail", "4", 18_000),
        ("minute", "130.0", 12_350),
        ("slat", "4", 7_200),
        ("minute", "73.2", 6_954),  # 73.25 to a tenth, the tie to even
        ("chair", "30", 1_797_000),
        ("slat", "30", 54_000),
        ("minute", "241.3", 22_924),  # 22,923.5: the tie to even
        ("text", "30", 21_000),
        ("setup", "1", 6_000),
    ]
    assert found.total == 2_465_028
    assert amount_text(found.total, "USD", 2) == "USD 24,650.28"
    assert "price list 3" in found.sentence and "half-even" in found.sentence


def test_the_named_rounding_rule_decides_ties():
    line = QuotedLine(
        0, "fernhollow-chair", "Fernhollow chair", 1, (CarvedSlat("back-centre", "wide", 1, 0.5),)
    )
    even = quote((line,), PRICES)
    up = quote((line,), replace(PRICES, rounding=Rounding.HALF_UP))
    assert [figure.amount for figure in even.lines if figure.entry == "minute"] == [48]  # 47.5
    assert [figure.amount for figure in up.lines if figure.entry == "minute"] == [48]
    odd = replace(PRICES, entries=tuple(replace(e, price=93) if e is MINUTE else e for e in PRICES.entries))
    assert [f.amount for f in quote((line,), odd).lines if f.entry == "minute"] == [46]  # 46.5
    assert [
        f.amount for f in quote((line,), replace(odd, rounding=Rounding.HALF_UP)).lines if f.entry == "minute"
    ] == [47]


@st.composite
def orders(draw: st.DrawFn) -> tuple[QuotedLine, ...]:
    lines = []
    for position in range(draw(st.integers(1, 4))):
        quantity = draw(st.integers(1, 400))
        carved = []
        for slat in draw(st.lists(st.sampled_from(["back-rail", "back-centre", "seat-front"]), unique=True)):
            pieces = draw(st.integers(0, quantity))
            minutes = draw(st.floats(0, 5000, allow_nan=False))
            carved.append(CarvedSlat(slat, slat, pieces, minutes, draw(st.integers(0, pieces))))
        model = draw(st.sampled_from(["longwalk-bench", "fernhollow-chair"]))
        lines.append(QuotedLine(position, model, model, quantity, tuple(carved)))
    return tuple(lines)


@st.composite
def price_lists(draw: st.DrawFn) -> PriceList:
    prices = [replace(entry, price=draw(st.integers(0, 10**7))) for entry in PRICES.entries]
    return replace(PRICES, entries=tuple(prices), rounding=draw(st.sampled_from(list(Rounding))))


@given(orders(), price_lists())
def test_the_lines_add_up_and_each_traces_back_to_its_price(lines, prices):
    found = quote(lines, prices)
    assert found.total == sum(line.amount for line in found.lines)
    by_key = {entry.key: entry for entry in prices.entries}
    for line in found.lines:
        assert line.amount >= 0
        assert line.price == by_key[line.entry].price
        # within half a minor unit of the exact product, reckoned apart in rationals
        assert abs(Fraction(line.amount) - Fraction(line.quantity) * line.price) <= Fraction(1, 2)


@given(orders(), price_lists(), st.integers(2, 9))
def test_counts_scale_and_only_set_up_does_not(lines, prices, times):
    more = tuple(
        replace(
            line,
            quantity=line.quantity * times,
            carved=tuple(
                replace(c, pieces=c.pieces * times, personalised=c.personalised * times) for c in line.carved
            ),
        )
        for line in lines
    )
    once, often = quote(lines, prices), quote(more, prices)
    for a, b in zip(once.lines, often.lines, strict=True):
        same = a.entry in ("setup", "minute")
        assert b.amount == a.amount * (1 if same else times)


@given(st.floats(0, 10**6, allow_nan=False))
def test_minutes_are_taken_to_the_nearest_tenth(minutes):
    counted = minutes_counted(minutes)
    assert abs(Fraction(counted) - Fraction(minutes)) <= Fraction(1, 20) + Fraction(1, 10**9)
    assert counted == counted.quantize(Decimal("0.1"))


@given(orders())
def test_the_digest_names_the_quote_and_nothing_else(lines):
    found = quote(lines, PRICES)
    assert found.digest == quote(lines, PRICES).digest
    refuse_other_quote(found.digest, found)
    dearer = quote(lines, replace(PRICES, version=4))
    assert dearer.digest != found.digest  # same total, other list: to be shown again
    with pytest.raises(ConflictError, match="Look at the new quote"):
        refuse_other_quote(found.digest, dearer)


def test_a_changed_order_says_what_changed():
    before = quote(GARDEN, PRICES)
    fewer = replace(GARDEN[1], quantity=28, carved=(replace(GARDEN[1].carved[0], pieces=28, personalised=0),))
    said = changes(before, quote((GARDEN[0], fewer), PRICES))
    assert said == (
        "No longer: own texts: Fernhollow chair, wide, USD 210.00.",
        "Fernhollow chair: 30 × USD 599.00 becomes 28 × USD 599.00, USD 17,970.00 becomes USD 16,772.00.",
        "carving: Fernhollow chair, wide: 30 × USD 18.00 becomes 28 × USD 18.00, "
        "USD 540.00 becomes USD 504.00.",
        "The total changes from USD 24,650.28 to USD 23,206.28.",
    )
    assert changes(before, before) == ()


def test_a_price_list_survives_storage():
    assert price_list_from(PRICES.facts) == PRICES
    assert price_list_from(PRICES.facts).digest == PRICES.digest


@pytest.mark.parametrize(
    ("entries", "code"),
    [
        ((BENCH, BENCH), "same-key"),
        ((SLAT, replace(SLAT, key="other")), "same-price-twice"),
        ((replace(BENCH, price=-1),), "price"),
        ((replace(BENCH, price=12.5),), "price"),
        ((replace(BENCH, price=10**12),), "price"),
        ((replace(BENCH, subject=""),), "no-model"),
        ((replace(MINUTE, subject="back-rail"),), "no-subject"),
        ((replace(MINUTE, key=""),), "no-key"),
    ],
)
def test_a_list_that_makes_no_sense_is_refused(entries, code):
    with pytest.raises(InvalidError) as refused:
        PriceList(1, "USD", 2, Rounding.HALF_EVEN, entries)
    assert code in [problem.code for problem in refused.value.problems]


@pytest.mark.parametrize("facts", [{"currency": "dollars"}, {"minor_digits": 7}, {"version": 0}])
def test_a_list_needs_a_currency_and_a_version(facts):
    with pytest.raises(InvalidError):
        replace(PRICES, **facts)


def test_a_missing_price_is_named():
    with pytest.raises(InvalidError, match="no price for the model “Longwalk bench”"):
        quote(GARDEN, replace(PRICES, entries=(CHAIR, SLAT, RAIL, MINUTE, SETUP, TEXT)))
    with pytest.raises(InvalidError, match="no price for carving on “wide centre back slat”"):
        quote(GARDEN, replace(PRICES, entries=(CHAIR, BENCH, RAIL, MINUTE, SETUP, TEXT)))
    with pytest.raises(InvalidError, match="texts of their own"):
        quote(GARDEN, replace(PRICES, entries=(CHAIR, BENCH, RAIL, SLAT, MINUTE, SETUP)))


@pytest.mark.parametrize(
    "carved",
    [
        CarvedSlat("back-rail", "back rail", 5, 1.0),
        CarvedSlat("back-rail", "back rail", 2, 1.0, 3),
        CarvedSlat("back-rail", "back rail", 2, -1.0),
        CarvedSlat("back-rail", "back rail", 2, float("nan")),
    ],
)
def test_counts_that_do_not_go_together_are_refused(carved):
    with pytest.raises(InvalidError, match="do not go together"):
        quote((replace(GARDEN[0], carved=(carved,)),), PRICES)


def test_a_slat_is_counted_once():
    twice = (CarvedSlat("back-rail", "back rail", 1, 1.0), CarvedSlat("back-rail", "back rail", 2, 1.0))
    with pytest.raises(InvalidError, match="once"):
        quote((replace(GARDEN[0], carved=twice),), PRICES)


def test_an_absurd_total_is_refused():
    dear = replace(PRICES, entries=(replace(BENCH, price=10**11), CHAIR, SLAT, RAIL, MINUTE, SETUP, TEXT))
    with pytest.raises(InvalidError, match="too large"):
        quote((replace(GARDEN[0], quantity=100, carved=()),), dear)


def test_money_is_written_with_the_decimals_of_its_currency():
    assert amount_text(1_234_567, "JPY", 0) == "JPY 1,234,567"
    assert amount_text(5, "KWD", 3) == "KWD 0.005"
    assert amount_text(-250, "EUR", 2) == "EUR −2.50"
