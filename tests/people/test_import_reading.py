"""Tables as people have them: signs, separators, quotation marks, orders of day and month, lines at fault."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from breakdowns.people.importing.columns import FIELDS, column_words, guess_columns, has_head
from breakdowns.people.importing.day_order import ORDERS, NotADay, order_of, read_day
from breakdowns.people.importing.reading import Plan, read_entries
from breakdowns.people.importing.services import is_address
from breakdowns.people.importing.table import (
    ENCODINGS,
    MOST_ROWS,
    Unreadable,
    decode,
    encodings_of,
    rows,
    separators_of,
)

TODAY = date(2026, 11, 26)
cells = st.text(st.characters(codec="utf-8", exclude_characters="\x00\r"), max_size=12)
tables = st.lists(st.lists(cells, min_size=2, max_size=5), min_size=1, max_size=8)


# --- signs ---------------------------------------------------------------------------------------


@given(st.text(st.characters(codec="utf-8", exclude_characters="\x00"), min_size=1))
def test_utf_8_is_certain_and_reads_back(text):
    assume(not text.startswith(("PK\x03\x04", "%PDF", "\ufeff")))
    for data in (text.encode(), b"\xef\xbb\xbf" + text.encode()):
        assert encodings_of(data) == ("utf-8-sig",)
        assert decode(data, "utf-8-sig") == text


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_sixteen_bits_are_noticed_with_and_without_their_mark(encoding):
    data = "name;email\nJosé;jose@example.org\n".encode(encoding)
    (found,) = encodings_of(data)
    assert decode(data, found) == "name;email\nJosé;jose@example.org\n"


@pytest.mark.parametrize("encoding", ["cp1252", "iso8859-15", "cp1250", "mac-roman"])
def test_one_byte_for_a_sign_is_never_certain(encoding):
    """The bytes of the code pages: The Unicode Consortium, mapping tables 8859-15, CP1252, CP1250, ROMAN."""
    data = "Müller;mueller@example.org".encode(encoding)
    found = encodings_of(data)
    assert len(found) > 1
    assert encoding in found
    assert decode(data, encoding).startswith("Müller")


@pytest.mark.parametrize("data", [b"PK\x03\x04rest", b"\xd0\xcf\x11\xe0rest", b"%PDF-1.7"])
def test_a_spreadsheet_is_no_text(data):
    with pytest.raises(Unreadable, match="export it as CSV"):
        encodings_of(data)


def test_what_does_not_fit_is_told_with_its_line():
    with pytest.raises(Unreadable, match="Line 3 can't be read as UTF-8"):
        decode(b"a\nb\n\xff\n", "utf-8-sig")
    assert set(ENCODINGS) >= set(encodings_of(b"\xe4"))
    with pytest.raises(Unreadable):
        decode(b"a", "rot13")


# --- rows ----------------------------------------------------------------------------------------


@given(tables, st.sampled_from([",", ";", "\t", "|"]))
def test_what_another_writer_writes_is_read_back_with_its_lines(table, separator):
    """Python's csv module writes as RFC 4180 says: CRLF, cells with marks, separators or breaks between marks."""
    file = io.StringIO()
    writer = csv.writer(file, delimiter=separator)
    lines = []
    for row in table:
        lines.append(file.getvalue().count("\n") + 1)
        writer.writerow(row)
    found = list(rows(file.getvalue(), separator))
    blank = [not any(cell.strip() for cell in row) for row in table]
    assert [list(row.cells) for row in found if not row.is_blank] == [
        row for row, empty in zip(table, blank, strict=True) if not empty
    ]
    assert [row.line for row in found if not row.is_blank] == [
        line for line, empty in zip(lines, blank, strict=True) if not empty
    ]


def test_a_mark_that_is_not_closed_spoils_its_own_line_only():
    text = 'email,name\na@example.org,"A\n' + "".join(f"b{n}@example.org,B\n" for n in range(40))
    found = list(rows(text, ","))
    assert [row.line for row in found if row.broken] == [2]
    assert len(found) == 42
    assert found[-1].cells == ("b39@example.org", "B")


@pytest.mark.parametrize(("text", "sign"), [
    ("email,name\na@example.org,A\n", ","),
    ("email;name;days\na@example.org;Back, left;1,5\nb@example.org;B;2,5\n", ";"),
    ("email\tname\na@example.org\tA, B\n", "\t"),
    ("email|name\na@example.org|A\n", "|"),
    ("email\na@example.org\n", ","),
    ("", ","),
])  # fmt: skip
def test_the_separator_is_what_makes_rows_alike(text, sign):
    assert separators_of(text)[0] == sign


def test_too_many_rows_are_told():
    with pytest.raises(Unreadable, match="divide it"):
        list(rows("a\n" * (MOST_ROWS + 2), ","))


# --- columns -------------------------------------------------------------------------------------


def test_heads_are_known_by_their_words_and_the_address_by_its_look():
    assert set(column_words().values()) == set(FIELDS)
    head = ["Member since", "E-Mail Address", "First_name", "SURNAME", "Expires on", "Shoe size"]
    assert guess_columns(head, [], True) == {
        "starts_on": 0, "email": 1, "given_name": 2, "family_name": 3, "ends_on": 4,
    }  # fmt: skip
    assert guess_columns(["A", "a@example.org"], [("A", "a@example.org")], False) == {"email": 1}
    assert not has_head(["A", "a@example.org"])


# --- days ----------------------------------------------------------------------------------------


@given(st.dates(date(1000, 1, 1)), st.sampled_from(["-", "/", ".", " "]), st.booleans())
def test_a_day_is_read_in_the_order_in_which_it_was_written(day, sign, padded):
    width = 2 if padded else 1
    d, m = f"{day.day:0{width}}", f"{day.month:0{width}}"
    assert read_day(f"{d}{sign}{m}{sign}{day.year}", "dmy") == day
    assert read_day(f"{m}{sign}{d}{sign}{day.year}", "mdy") == day
    assert read_day(f"{day.year}{sign}{m}{sign}{d}") == day
    assert read_day(f"{day:%d %B %Y}") == read_day(f"{day:%b %d, %Y}") == day


@given(st.dates(date(1000, 1, 1)))
def test_iso_8601_needs_no_order(day):
    for text in (day.isoformat(), day.strftime("%Y%m%d").rjust(8, "0"), f"{day.isoformat()}T00:00:00Z"):
        for order in ("", *ORDERS):
            assert read_day(text, order) == day


@given(st.lists(st.dates(date(1000, 1, 1)), min_size=1), st.sampled_from(["%d/%m/%Y", "%m/%d/%Y"]))
def test_an_order_is_settled_only_by_days_that_can_be_nothing_else(days, form):
    """A day up to the 12th can be read both ways; those alone settle nothing."""
    found = order_of(f"{day:{form}}" for day in days)
    true = "dmy" if form.startswith("%d") else "mdy"
    telling = any(day.day > 12 for day in days)
    assert (found.settled, found.asked) == ((true, False) if telling else ("", True))
    assert found.fits[true] == found.total == len(days)


def test_both_orders_in_one_file_have_to_be_asked_for():
    found = order_of(["25/12/2026", "12/25/2026", "1/1/2026", "nothing", "2026-01-01"])
    assert (found.asked, found.total, found.fits) == (True, 3, {"dmy": 2, "mdy": 2})


@pytest.mark.parametrize(("text", "words"), [
    ("31/02/2026", "no day of the calendar"), ("4/3/26", "four digits"), ("2026-13-01", "calendar"),
    ("tomorrow", "is no day"), ("1 Foo 2026", "no month"), ("2026-01-01T23:30:00Z", "no time"), ("٤/٣/٢٠٢٦", "is no day"),
    ("0000-01-01", "calendar"), ("1 Ma 2026", "is no day"), ("x" * 5000, "is no day"),
])  # fmt: skip
def test_what_is_no_day_is_told(text, words):
    with pytest.raises(NotADay, match=words):
        read_day(text, "dmy")


def test_an_order_that_was_not_said_is_asked_for():
    with pytest.raises(NotADay, match="two different days"):
        read_day("4/3/2026")


# --- lines ---------------------------------------------------------------------------------------

PLAN = Plan("utf-8-sig", ",", True, {"email": 0, "name": 1, "starts_on": 2, "ends_on": 3}, "dmy")
FAULTY = [
    ("", "is missing"),
    ("no address,A,1/1/2026,", "no e-mail address"),
    ("a@b@example.org,A,1/1/2026,", "no e-mail address"),
    ("good1@example.org,A,1/1/2026,", "stands in line"),
    ("GOOD1@Example.org,A,1/1/2026,", "stands in line"),
    ("x1@example.org,A,31/2/2026,", "First day: “31/2/2026” is no day of the calendar"),
    ("x2@example.org,A,1/1/2026,1/1/26", "Last day: “1/1/26” is no day"),
    ("x3@example.org,A,2/1/2026,1/1/2026", "lies before the first"),
    ("x4@example.org," + "A" * 121 + ",1/1/2026,", "121 characters"),
    ("x5@example.org,A,1/1/2026,,more", "5 cells and the head 4"),
    ("x6@example.org,A", "is missing"),
    ('x7@example.org,"A,1/1/2026,', "not closed"),
    ("x8@example.org,A\x07,1/1/2026,", "control sign"),
]


def test_ten_thousand_lines_with_thirty_seven_faults():
    """Each fault is reported on its own line, and every good line is offered."""
    lines = ["e-mail,name,first day,last day"]
    lines += [f"good{n}@example.org,Player {n},{n % 28 + 1}/{n % 12 + 1}/2026," for n in range(9963)]
    expected = {}
    for number in range(37):
        text, words = FAULTY[1 + number % (len(FAULTY) - 1)]
        at = 20 + number * 263
        lines.insert(at, f"x{number}-{text[1:]}" if text.startswith("x") else text)
        expected[at + 1] = words
    text = "\n".join(lines) + "\n"
    assert len(lines) == 10_001
    reading = read_entries(rows(text, ","), PLAN, today=TODAY, is_address=is_address)
    assert {fault.line for fault in reading.faults} == set(expected)
    for fault in reading.faults:
        assert expected[fault.line] in fault.words
    assert (len(reading.entries), len(reading.faults)) == (9963, 37)
    for entry in reading.entries:
        assert lines[entry.line - 1].startswith(entry.email + ",")


def test_what_the_file_does_not_say_is_taken_from_the_plan():
    plan = Plan(
        "utf-8-sig",
        ",",
        False,
        {"email": 0, "given_name": 1, "family_name": 2},
        last_day=TODAY + timedelta(9),
    )
    (entry,) = read_entries(
        rows("a@example.org,Ann ,Ex", ","), plan, today=TODAY, is_address=is_address
    ).entries
    assert (entry.name, entry.starts_on, entry.ends_on) == ("Ann Ex", TODAY, TODAY + timedelta(9))
    assert Plan.from_json(plan.as_json()) == plan


@given(st.text(st.sampled_from(list('a@.,;"\n\r\t\x00 1/2é\u202e=+')), max_size=200), st.sampled_from(",;"))
def test_whatever_stands_there_each_line_is_an_entry_or_a_fault(text, separator):
    plan = Plan("utf-8-sig", separator, False, {"email": 0, "name": 1, "starts_on": 2})
    table = list(rows(text, separator))
    reading = read_entries(table, plan, today=TODAY, is_address=is_address)
    assert reading.lines == sum(not row.is_blank for row in table)
    told = [one.line for one in (*reading.entries, *reading.faults)]
    assert len(set(told)) == len(told)
