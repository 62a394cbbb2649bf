"""Entity tags, preconditions and ranges, after RFC 9110 §8.8.3, §13.1 and §14."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.rest.conditional import (
    NEVER,
    BadPreconditionError,
    NoPreconditionError,
    NoSuchRangeError,
    Span,
    body_tag,
    expected_revision,
    revision_tag,
    span_of,
    unchanged,
)

TAG = '"abc"'


def test_a_tag_given_out_names_its_revision():
    tag = revision_tag(7, b"{}", "order a")
    assert tag.startswith('"7.')
    assert expected_revision(tag, "order a") == 7
    assert expected_revision(tag, None) == 7


def test_tags_of_other_bodies_differ():
    assert revision_tag(1, b"a", "x") != revision_tag(1, b"b", "x")
    assert body_tag(b"a") != body_tag(b"b")


def test_all_of_a_tag_is_compared_and_it_belongs_to_one_resource():
    """RFC 9110 §8.8.1: a tag tells representations of one resource apart; of another's it says nothing."""
    tag = revision_tag(7, b"{}", "order a")
    assert expected_revision(tag, "order b") == expected_revision(tag, "carving a") == NEVER
    revision, body, mark = tag.strip('"').split(".")
    assert expected_revision(f'"{revision}.{"0" * 16}.{mark}"', "order a") == NEVER
    assert expected_revision(f'"8.{body}.{mark}"', "order a") == NEVER
    assert expected_revision('"7"', "order a") == 7


@pytest.mark.parametrize("value", [None, "", " ", "*"])
def test_nothing_and_a_star_are_no_precondition(value):
    """RFC 6585 §3: 428 asks for one. A star would decide about what nobody has seen."""
    with pytest.raises(NoPreconditionError):
        expected_revision(value, "order a")


@pytest.mark.parametrize("value", ["7", '"7', "seven", '"1","2"', '"1", "2"', "W/7"])
def test_what_is_no_tag_is_a_bad_request(value):
    with pytest.raises(BadPreconditionError, match="in quotes"):
        expected_revision(value, "order a")


@pytest.mark.parametrize("value", ['W/"7"', '"seven"', '"7.xyz"', '"' + "9" * 10 + '"', '""'])
def test_a_tag_that_is_none_of_ours_matches_nothing(value):
    """RFC 9110 §13.1.1: strong comparison, so a weak tag never matches; an unknown one is out of date."""
    assert expected_revision(value, "order a") == NEVER


@pytest.mark.parametrize(
    ("header", "same"),
    [
        (None, False),
        ("*", True),
        ('"abc"', True),
        ('W/"abc"', True),  # weak comparison for GET, §13.1.2
        ('"xyz", "abc"', True),
        ('"xyz"', False),
        ("abc", False),
    ],
)
def test_if_none_match(header, same):
    assert unchanged(header, TAG) is same


@pytest.mark.parametrize(
    ("header", "span"),
    [  # the examples of RFC 9110 §14.1.2, for a file of 10,000 bytes
        ("bytes=0-499", Span(0, 500)),
        ("bytes=500-999", Span(500, 1000)),
        ("bytes=-500", Span(9500, 10_000)),
        ("bytes=9500-", Span(9500, 10_000)),
        ("bytes=0-20000", Span(0, 10_000)),
        ("bytes=-20000", Span(0, 10_000)),
        (None, None),
        ("bytes=500-499", None),
        ("bytes=0-0,-1", None),
        ("lines=0-4", None),
        ("bytes=-", None),
    ],
)
def test_ranges(header, span):
    assert span_of(header, 10_000, None, TAG) == span


@pytest.mark.parametrize("header", ["bytes=10000-", "bytes=20000-30000", "bytes=-0"])
def test_ranges_outside_the_file(header):
    with pytest.raises(NoSuchRangeError):
        span_of(header, 10_000, None, TAG)


def test_if_range_with_another_tag_gives_the_whole_file():
    assert span_of("bytes=0-1", 10, '"old"', TAG) is None
    assert span_of("bytes=0-1", 10, TAG, TAG) == Span(0, 2)


@given(st.text(), st.integers(1, 10**9))
def test_no_header_makes_a_span_outside_the_file(header, size):
    try:
        span = span_of(header, size, None, TAG)
    except NoSuchRangeError:
        return
    assert span is None or 0 <= span.start < span.stop <= size
