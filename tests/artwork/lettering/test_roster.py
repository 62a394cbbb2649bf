"""Lists and tables as people send them."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from artwork.csv_text import csv_bytes, neutral
from artwork.errors import EngineError
from artwork.lettering.roster import LONGEST_TEXT, Entry, from_csv, typed

NAMES = ["Imke Harrowdale", "Corvin, the younger", 'Rosa "Ro" Lane', "Ébène Löwe", "محمد علي"]


def table(rows, delimiter=",", ends="\n", encoding="utf-8"):
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, lineterminator=ends).writerows(rows)
    return out.getvalue().encode(encoding)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_tables_of_every_common_kind_give_the_same_names(delimiter, ends, encoding):
    rows = [["Row", "Name"], *([str(k), name] for k, name in enumerate(NAMES))]
    found = from_csv(table(rows, delimiter, ends, encoding), ["name"])
    assert [entry.text for entry in found.entries] == NAMES
    assert [entry.row for entry in found.entries] == [2, 3, 4, 5, 6]
    assert found.columns == ("Row", "Name") and not found.problems and not found.remarks


@given(st.lists(st.text(st.characters(exclude_categories=["C", "Z"], max_codepoint=0x2FFF), min_size=1,
                        max_size=20), min_size=1, max_size=12))  # fmt: skip
def test_whatever_a_table_writer_quotes_is_read_back(names):
    import unicodedata

    rows = [["name", "x"], *([name, "1"] for name in names)]
    found = from_csv(table(rows))
    assert [entry.text for entry in found.entries] == [unicodedata.normalize("NFC", name) for name in names]


def test_a_column_of_names_with_commas_needs_no_quotes():
    found = from_csv(b"Name\nHarrowdale, Imke\nLane, Rosa\n")
    assert [entry.text for entry in found.entries] == ["Harrowdale, Imke", "Lane, Rosa"]
    assert [entry.text for entry in typed("Harrowdale, Imke\nLane; Rosa").entries] == [
        "Harrowdale, Imke", "Lane; Rosa",
    ]  # fmt: skip


def test_several_columns_are_several_lines():
    found = from_csv(table([["name", "x", "year"], ["Rosa", "-", "1924"], ["Jo", "-", ""]]), ["name", "year"])
    assert [entry.text for entry in found.entries] == ["Rosa\n1924", "Jo"]
    assert from_csv(b"Rosa\nJo", headed=False).entries == (Entry(1, "Rosa"), Entry(2, "Jo"))


def test_empty_and_repeated_rows_are_told_by_their_number():
    found = typed("Rosa\n\n  \nIMKE\nrosa\nImke\n\n\n")
    assert [(entry.row, entry.text) for entry in found.entries] == [
        (1, "Rosa"),
        (4, "IMKE"),
        (5, "rosa"),
        (6, "Imke"),
    ]
    assert [(p.row, p.code) for p in found.problems] == [
        (2, "empty"), (3, "empty"), (5, "same-again"), (6, "same-again"),
    ]  # fmt: skip
    assert "row 1" in found.problems[2].message


def test_five_hundred_characters_are_too_many():
    found = typed("Rosa\n" + "x" * 500)
    assert [entry.text for entry in found.entries] == ["Rosa"]
    assert found.problems[0].code == "too-long"
    assert "500 characters" in found.problems[0].message and str(LONGEST_TEXT) in found.problems[0].message


def test_hidden_characters_are_left_out_and_told():
    found = typed("Ro\u200bsa\u202e\nJo\u200dé\u00a0 B\ttt\nA\u00adn\x07n")
    assert [entry.text for entry in found.entries] == ["Rosa", "Jo\u200dé B tt", "Ann"]
    assert [p.row for p in found.problems] == [1, 3]
    assert "U+200B ZERO WIDTH SPACE" in found.problems[0].message and found.problems[0].severity == "tells"


def test_formulas_are_text_and_neutral_in_what_we_write():
    cells = ["=1+1", "+49 171", "@home", "-5", "=HYPERLINK(0)", " =x", "Rosa"]
    found = from_csv(table([["name"], *([cell] for cell in cells)]))
    assert [entry.text for entry in found.entries] == [cell.strip() for cell in cells]
    written = csv_bytes(["text", "mm"], [[cell, -5.5] for cell in cells])
    back = list(csv.reader(io.StringIO(written.decode(), newline="")))
    assert back[0] == ["text", "mm"]
    assert [row[0][0] for row in back[1:]] == ["'"] * 6 + ["R"]
    assert all(row[1] == "-5.5" for row in back[1:])
    assert written.count(b"\r\n") == len(back)


@given(st.text(max_size=30))
def test_no_text_of_ours_starts_as_a_formula(text):
    assert not neutral(text).lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r"))
    assert neutral(text).endswith(text)


def test_windows_text_is_read_with_a_remark():
    found = from_csv("Name\nÉbène Löwe\n".encode("cp1252"))
    assert found.entries[0].text == "Ébène Löwe"
    assert found.remarks[0].code == "not-utf-8"


@pytest.mark.parametrize(
    ("data", "columns", "code"),
    [
        (b"", (), "empty-list"),
        (b"Name\n", (), "empty-list"),
        (b"Name\n\n \n", (), "empty-list"),
        (b"Name;Year\nRosa;1\n", ["Names"], "no-such-column"),
        (b'Name,x\n"Rosa,1\nJo,2\n', (), "not-a-table"),
        (b"Name\n" + b"\x81\x8d" * 9, (), "unreadable-text"),
        (b"\xff\xfe\x00", (), "unreadable-text"),
        (b"Name\n" + b"Rosa\n" * 2001, (), "list-too-long"),
        (b"x" * 2_000_001, (), "list-too-long"),
    ],
)
def test_what_is_no_list_is_refused_with_a_cure(data, columns, code):
    with pytest.raises(EngineError) as refused:
        from_csv(data, columns)
    assert refused.value.code == code and refused.value.cure


def test_a_typed_list_may_be_refused_too():
    for text in ("", "\n \n", "\u200b"):
        with pytest.raises(EngineError, match="no text"):
            typed(text)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data):
    try:
        found = from_csv(data)
    except EngineError as refused:
        assert refused.code
    else:
        assert found.entries
        assert all(0 < len(entry.text) <= LONGEST_TEXT for entry in found.entries)
