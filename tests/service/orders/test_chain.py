"""The record's chain, against canonical JSON and digests made by other means."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.orders.chain import (
    BEFORE_THE_FIRST,
    AuditEvent,
    body_of,
    canonical_digest,
    first_fault,
    link,
    moment,
)
from service.orders.record import EntryKind

AT = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


def chain(count: int, **facts):
    entries, previous = [], BEFORE_THE_FIRST
    for number in range(1, count + 1):
        deed = AuditEvent(
            EntryKind.SIGN_OFF, AT, "client:link-1", order_id="order-1", facts={"n": number, **facts},
            name="Imke", address="192.0.2.7", words="as drawn",
        )  # fmt: skip
        entries.append(link(deed, "shop-1", number, previous))
        previous = entries[-1].this
    return entries


def head(entries):
    return (entries[-1].number, entries[-1].this) if entries else None


def test_canonical_json_is_that_of_rfc_8785():
    """RFC 8785 §3.2.2's example, its expected text from §3.2.4; digest by hashlib."""
    value = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": '€$\u000f\nA\'B"\\\\"/',
        "literals": [None, True, False],
    }
    text = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical_digest(value) == hashlib.sha256(text.encode()).hexdigest()


def test_an_entry_is_the_digest_of_its_body():
    """The body has text and whole numbers only, where sorted compact JSON is the canonical form."""
    (entry,) = chain(1)
    text = json.dumps(body_of(entry), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert entry.this == hashlib.sha256(text.encode()).hexdigest()


def test_moments_are_utc_and_of_one_length():
    there = AT.astimezone(timezone(timedelta(hours=5, minutes=30)))
    assert moment(there) == moment(AT) == "2026-05-04T09:30:00.000000Z"


def test_an_untouched_record_holds():
    entries = chain(5)
    assert first_fault(entries, head(entries), frozenset()) is None
    assert first_fault([], None, frozenset()) is None
    assert first_fault([], (0, BEFORE_THE_FIRST), frozenset()) is None


@given(st.integers(1, 6), st.data())
def test_any_change_is_found_at_the_entry_changed(place, data):
    entries = chain(6)
    field = data.draw(
        st.sampled_from(["kind", "at", "actor", "order_id", "digest", "picture", "facts", "seal", "this"])
    )
    other = {
        "kind": EntryKind.RELEASE, "at": AT + timedelta(microseconds=1), "facts": {"n": place, "x": 0},
    }.get(field, "f" * 64)  # fmt: skip
    entries[place - 1] = replace(entries[place - 1], **{field: other})
    fault = first_fault(entries, head(entries), frozenset())
    assert fault is not None
    assert fault.number == place


@given(st.integers(1, 5))
def test_a_missing_entry_is_found(place):
    entries = chain(6)
    last = head(entries)
    del entries[place - 1]
    fault = first_fault(entries, last, frozenset())
    assert fault is not None
    assert fault.number == place
    assert "missing" in fault.reason


def test_a_cut_off_end_is_found_by_the_head():
    entries = chain(6)
    fault = first_fault(entries[:5], head(entries), frozenset())
    assert fault is not None
    assert fault.number == 6


def test_a_rewritten_history_is_found_where_it_leaves_the_old_one():
    entries = chain(6)
    forged = chain(3, forged=True)
    fault = first_fault([*entries[:2], forged[2], *entries[3:]], head(entries), frozenset())
    assert fault is not None
    assert fault.number == 3


def test_changed_particulars_are_found():
    entries = chain(3)
    known = entries[1].particulars
    assert known is not None
    entries[1] = replace(entries[1], particulars=replace(known, words="something else"))
    fault = first_fault(entries, head(entries), frozenset())
    assert fault is not None
    assert fault.number == 2


def test_particulars_may_only_be_gone_after_an_erasure():
    entries = chain(3)
    entries[1] = replace(entries[1], particulars=None)
    fault = first_fault(entries, head(entries), frozenset())
    assert fault is not None
    assert fault.number == 2
    assert first_fault(entries, head(entries), frozenset({"order-1"})) is None


def test_the_seal_tells_nothing_twice():
    one, two = chain(1), chain(1)
    assert one[0].particulars.words == two[0].particulars.words
    assert one[0].seal != two[0].seal


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_json_cannot_say_is_not_entered(value):
    with pytest.raises(ValueError, match=r"nan|inf"):
        link(AuditEvent(EntryKind.OFFER, AT, "maker:1", facts={"x": value}), "shop-1", 1, BEFORE_THE_FIRST)
