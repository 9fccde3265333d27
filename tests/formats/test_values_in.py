"""One cell becomes one value, or a finding that says what to write."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from credits.formats.tables import cells as v
from credits.formats.tables.cells import day
from credits.model.facts import Decision
from credits.text import fold_code
from credits.units.frames import Frames

REFUSED: list[tuple[v.Reader, v.Cell, str]] = [
    (day, "02.03.2026", "Write 2026-03-02 or 2026-02-03, whichever is meant."),
    (day, "3/2/2026", "Write 2026-02-03 or 2026-03-02, whichever is meant."),
    (day, "31.12.25", "Write 2025-12-31."),
    (day, "2026-03-02T10:30", "Write 2026-03-02, without a time."),
    (day, "3/4/26", "Write 2026-04-03 or 2026-03-04, whichever is meant."),
    (day, "Tue 2 March 2026", "2026-03-02 is a Monday. Correct the day"),
    (day, "March 2026", "Write it like 2026-03-02."),
    (day, "31 June 2026", "Write it like 2026-03-02."),
    (day, "Monday", "Write it like 2026-03-02."),
    (day, "6 mar", "Write it like 2026-03-02."),
    (day, "20260302", "Write it like 2026-03-02."),
    (day, "March", "Write it like 2026-03-02."),
    (day, "2026-02-30", "there is no such day. Correct the month or the day."),
    (day, "0206-03-02", "the year 206 cannot be right. Correct the year."),
    (day, date(2926, 3, 2), "the year 2926 cannot be right."),
    # A spreadsheet's day 46083 is 2 March 2026: calculated from day 45658 = 1 January 2025.
    (day, "46083", "Format the column as a date; as a spreadsheet counts days, it is 2026-03-02."),
    (v.whole(0), "12,5", "Write a whole number, without a point or a comma."),
    (v.whole(0), "1.200", "Write a whole number, without a point or a comma."),
    (v.whole(0), "-5", "is not a whole number."),
    (v.whole(0), "1.000", "Write a whole number, without a point or a comma."),
    (v.whole(0), "½", "is not a whole number. Write it in digits, such as 12."),
    (v.minutes, "1:75", "Write whole minutes such as 90, or a length such as 1:30, 1.5 h or"),
    (v.minutes, "-5", "is not a length in minutes."),
    (v.whole(1), "0", "is too low. The lowest number here is 1."),
    (v.whole(1), "9" * 30, "is too high."),
    (v.whole(1), date(2026, 1, 2), "is a date, not a whole number."),
    (v.yes_no, "ja", "is neither yes nor no. Write yes or no."),
    (v.share, "0", "a share is positive."),
    (v.share, "1/0", "a share is positive."),
    (v.share, "0 %", "a share is positive."),
    (v.share, "1 1/0", "a share is positive."),
    (v.share, "1 2", "Write a whole number such as 2, or a fraction such as 1/2."),
    (v.share, "-0.5", "a share is positive."),
    (v.share, "1 1 / 00", "a share is positive."),
    (v.share, "0,333333", "Write 1/3."),
    (v.share, "half", "Write a whole number such as 2, or a fraction such as 1/2."),
    (v.share, date(2026, 2, 1), "a spreadsheet has turned a fraction such as 1/2 into a date."),
    (v.word(Decision), "ok", "Write open, accepted or retake."),
    (v.frames, "48-1", "a range runs backwards. Write 1-48"),
    (v.frames, "one", "is not a list of frames. Write 1-48"),
    (v.email, "ana at home", "is not an e-mail address."),
    (v.email, "a@b@c", "is not an e-mail address."),
    # ISO 27729's check character: 0000 0001 2281 955X is a valid number.
    (v.isni, "0000 0001 2281 9550", "the check character is 0"),
    (v.code, "ana holm", "a code cannot hold white space. Write ana-holm, or another code."),
    (v.code, "a,b", "a code cannot hold a ','. Write a-b"),
    (v.code, "010/2", "a code cannot hold a '/'."),
    (v.code, "-ana", "a code cannot begin with '-'."),
    (v.code, "x" * 61, "a code of 61 characters is too long. Shorten it to 60."),
    (v.code, "a\u202eb", "holds an invisible character (U+202E)."),
    (v.code, "a\x07b", "holds a control character (U+0007)."),
    (v.code, date(2026, 1, 12), "a spreadsheet has turned this code into a date."),
    (v.name, "Ana\nHolm", "holds a control character (a line break). Take it out."),
    (v.name, "x" * 301, "has 301 characters. Shorten it to 300."),
    (v.note, "x" * 20_001, "has 20001 characters. Shorten it to 20000."),
    (v.note, "a\x00b", "holds a control character (U+0000)."),
]


@pytest.mark.parametrize(("read", "cell", "said"), REFUSED)
def test_a_cell_that_cannot_be_read_says_what_to_write(
    read: v.Reader, cell: v.Cell, said: str
) -> None:
    with pytest.raises(v.Unreadable) as caught:
        read(cell)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    "cell", ["2026-12-01", "1. Dez", "12-Jan", "Jan 12", "1/12/2026", "12.01.", date(2026, 1, 12)]
)
def test_frames_that_a_spreadsheet_made_a_date_of_are_recognised(cell: v.Cell) -> None:
    with pytest.raises(v.Unreadable) as caught:
        v.frames(cell)
    assert str(caught.value) == (
        "a spreadsheet has turned a range such as 1-12 into a date. Format the column as text "
        "before you type frames into it, and write the range again."
    )


READ: list[tuple[v.Reader, v.Cell, object]] = [
    (day, "2024-02-29", date(2024, 2, 29)),
    (day, date(2026, 3, 2), date(2026, 3, 2)),
    (day, "31.12.2025", date(2025, 12, 31)),
    (day, "12/31/2025", date(2025, 12, 31)),
    (day, "13/3/2026", date(2026, 3, 13)),
    (day, "2026/3/2", date(2026, 3, 2)),
    (day, "2026. 3. 2.", date(2026, 3, 2)),
    (day, "5.5.2026", date(2026, 5, 5)),
    (day, "2 March 2026", date(2026, 3, 2)),
    (day, "March 2, 2026", date(2026, 3, 2)),
    (day, "02-Mar-2026", date(2026, 3, 2)),
    (day, "2. März 2026", date(2026, 3, 2)),
    (day, "2 août 2026", date(2026, 8, 2)),
    (day, "2026年3月2日", date(2026, 3, 2)),
    (day, "٢٠٢٦/٣/٢", date(2026, 3, 2)),
    (day, "Monday, March 2, 2026", date(2026, 3, 2)),
    (day, "Mon. 2 Mar 2026", date(2026, 3, 2)),
    (day, "2nd of March 2026", date(2026, 3, 2)),
    (day, "２０２６-０３-０２", date(2026, 3, 2)),
    (v.whole(0), "007", 7),
    (v.whole(0), "480.0", 480),
    (v.whole(0), "12,0", 12),
    (v.whole(0), "١٢", 12),
    (v.whole(0), "４８０", 480),
    (v.minutes, "480.0", 480),
    (v.yes_no, "YES", True),
    (v.yes_no, "0", False),
    (v.share, "2", Fraction(2)),
    (v.share, "2 / 4", Fraction(1, 2)),
    (v.share, "½", Fraction(1, 2)),
    (v.share, "1½", Fraction(3, 2)),
    (v.share, "50 %", Fraction(1, 2)),
    (v.share, "12,5%", Fraction(1, 8)),
    (v.share, "0.5", Fraction(1, 2)),
    (v.share, "2.0", Fraction(2)),
    (v.share, repr(1 / 3), Fraction(1, 3)),
    (v.share, "１／２", Fraction(1, 2)),
    (v.frames, "１-２０", Frames.parse("1-20")),
    (v.word(Decision), "Accepted", Decision.ACCEPTED),
    (v.frames, "1–20; 25-48", Frames.parse("1-20,25-48")),
    (v.isni, "0000 0001 2281 955X", "000000012281955X"),
    (v.code, "عنا", "عنا"),
    (v.code, "山田", "山田"),
    (v.code, "🕯", "🕯"),
    (v.code, "=cmd()", "=cmd()"),
    (v.name, "<script>alert('x')</script>", "<script>alert('x')</script>"),
    (v.name, "=SUM(A1)", "=SUM(A1)"),
    (v.name, "A\u030asa", "Åsa"),
    (v.note, "one\r\ntwo\rthree", "one\ntwo\nthree"),
]


@pytest.mark.parametrize(("read", "cell", "value"), READ)
def test_a_cell_is_read(read: v.Reader, cell: v.Cell, value: object) -> None:
    assert read(cell) == value


def test_codes_are_compared_without_regard_to_case_or_composition() -> None:
    assert fold_code("ÅSA") == fold_code("a\u030asa")
    assert fold_code("STRASSE") == fold_code("straße")


def test_days_are_of_the_years_from_1900_to_2199() -> None:
    for right in (date(1900, 1, 1), date(2199, 12, 31)):
        assert day(str(right)) == day(right) == right
    for wrong in (date(1899, 12, 31), date(2200, 1, 1)):
        for cell in (str(wrong), wrong):
            with pytest.raises(v.Unreadable, match=f"the year {wrong.year} cannot be right"):
                day(cell)
