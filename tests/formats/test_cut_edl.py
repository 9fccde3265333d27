"""The editors' cut as a CMX 3600 edit list: what each film frame shows."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from cut_files import LOG, log_of, read_cut, read_edl, runs, said
from hypothesis import given
from hypothesis import strategies as st

from credits.formats.cut.edl import of_normal
from credits.units.film_time import FrameRate
from credits.units.rounding import decimal_text

IN_SECONDS = """
    TITLE: THE LAMPLIGHTER
    FCM: NON-DROP FRAME

    001  A001     V     C        00:00:00:01 00:00:01:01 01:00:00:00 01:00:01:00
    * FROM CLIP NAME:  010-010
    002  A002     V     C        00:00:00:05 00:00:00:09 01:00:01:06 01:00:01:10
    * FROM CLIP NAME:  LAMP_020-010_v2.mov
"""


def test_edits_gaps_and_names(tmp_path: Path) -> None:
    reading = read_edl(tmp_path, IN_SECONDS)
    assert said(reading) == []
    assert runs(reading) == "010-010:1-24 -6 020-010:5-8"


@pytest.mark.parametrize(
    ("events", "seen"),
    [
        # The reel as a whole names the shot; without a name the event's number is none.
        ("010 010-020 V C 1 3 0 2\n", "010-020:1-2"),
        # Edits in another order than the film, and sound between them.
        ("002 010-010 V C 9 11 2 4\n003 X AA C 0 9 0 9\n001 010-020 V C 1 3 0 2\n",
         "010-020:1-2 010-010:9-10"),
        # Picture with sound, and sound of the same event.
        ("001 010-010 AA/V C 1 3 0 2\n001 010-020 A2 C 1 3 0 2\n", "010-010:1-2"),
        # The upper track covers the lower one and begins later.
        ("001 010-010 V C 1 6 100 105\n002 010-020 V2 C 1 3 102 104\n",
         "010-010:1-2 010-020:1-2 010-010:5"),
        ("001 010-020 V2 C 1 3 100 102\n002 010-010 V1 C 1 6 100 105\n",
         "010-020:1-2 010-010:3-5"),
        # Black is a gap.
        ("001 BL V C 0 5 0 5\n002 010-010 V C 1 3 5 7\n", "-5 010-010:1-2"),
        # A fade from black at the very beginning, a dissolve, a wipe.
        ("001 BL V C 0 0 0 0\n001 010-010 V D 012 1 5 0 4\n", "010-010:1-4"),
        ("001 010-010 V C 1 5 0 4\n002 010-010 V C 5 5 4 4\n002 010-020 V D 003 7 11 4 8\n",
         "010-010:1-4 010-020:7-10"),
        ("001 010-010 V C 1 5 0 4\n002 010-010 V C 5 5 4 4\n002 010-020 V W001 003 7 11 4 8\n",
         "010-010:1-4 010-020:7-10"),
        # What a transition comes from may be long.
        ("001 010-010 V C 1 5 0 4\n001 010-020 V D 003 7 9 4 6\n", "010-010:1-4 010-020:7-8"),
        # Speeds: twice, half, backwards, held; the record length counts.
        ("001 010-010 V C 1 9 0 4\nM2 010-010 048.0 00:00:00:01\n", "010-010:1-7by2"),
        ("001 010-010 V0 C 1 9 0 4\nM2 010-010 048.0 00:00:00:01\n", "010-010:1-7by2"),
        ("001 010-010 V C 1 3 0 4\nM2 010-010 012.0 00:00:00:01\n", "010-010:1x2 010-010:2x2"),
        ("001 010-010 V C 1 5 0 4\nM2 010-010 -024.0 00:00:00:01\n", "010-010:4-1"),
        ("001 010-010 V C 5 6 0 4\nM2 010-010 000.0 00:00:00:05\n", "010-010:5x4"),
        ("001 010-010 V C 5 6 0 4\n* FROM CLIP NAME: 010-010 FF\n* * FREEZE FRAME\n",
         "010-010:5x4"),
        # Each side of a dissolve has its own speed.
        ("001 010-010 V C 1 9 0 4\n001 010-020 V D 002 1 3 4 8\n"
         "M2 010-010 048.0 0\nM2 010-020 012.0 00:00:00:00\n",
         "010-010:1-7by2 010-020:1x2 010-020:2x2"),
        # Names with tabs, lower case and remarks that are none of ours.
        ("001\tA\tV\tC\t1\t3\t0\t2\n*FROM CLIP NAME:\tX 010-010 Y\n* LOC: 99:99:99:99 RED\n"
         "* ASC_SOP (broken\n>>> SOURCE 1\n", "010-010:1-2"),
        ("001 A V C 1 3 0 2\n* FROM CLIP NAME: final\n* SOURCE FILE: 010_020_v003.mov\n",
         "010-020:1-2"),
        ("001 A V C 1 3 0 2\n001 A A2 C 1 3 0 2\n* SOURCE FILE: E:\\010-010\\010-020.mov\n",
         "010-020:1-2"),
        # Of a dissolve each side has its own file; with one file nobody knows whose it is.
        ("001 A V C 1 5 0 4\n001 B V D 002 1 3 4 6\n* SOURCE FILE: 010-010.mov\n"
         "* SOURCE FILE: 020-010.mov\n", "010-010:1-4 020-010:1-2"),
        ("001 010-010 V C 1 5 0 4\n002 B V C 5 5 4 4\n002 C V D 002 1 3 4 6\n"
         "* SOURCE FILE: 020-010.mov\n", "010-010:1-4 -2"),
        ("001 A V C 1 3 0 2\n* FROM FILE: D:\\shots\\010-020.mov\n", "010-020:1-2"),
    ],
)  # fmt: skip
def test_events(tmp_path: Path, events: str, seen: str) -> None:
    assert runs(read_edl(tmp_path, events)) == seen


@pytest.mark.parametrize("black", ["0 12 4 16", "0 0 4 16", "0 0 4 4"])
@pytest.mark.parametrize("kind", ["D", "W001"])
def test_a_fade_out_at_the_end_counts_in_the_length(tmp_path: Path, black: str, kind: str) -> None:
    """However it is written: black needs no source, and some give it no time of its own."""
    lines = f"001 010-010 V C 1 5 0 4\n002 010-010 V C 5 5 4 4\n002 BL V {kind} 012 {black}\n"
    reading = read_edl(tmp_path, lines)
    assert runs(reading) == "010-010:1-4 -12"
    (told,) = said(reading)
    assert "row 3: event '002': a " in told
    assert " of 12 frames: frames are counted to the edit point." in told


def test_a_fade_out_before_another_clip_moves_nothing(tmp_path: Path) -> None:
    lines = "001 010-010 V C 1 5 0 4\n001 BL V D 012 0 0 4 4\n002 010-020 V C 1 3 4 6\n"
    assert runs(read_edl(tmp_path, f"{lines}003 010-010 V C 5 25 6 26\n")) == (
        "010-010:1-4 010-020:1-2 010-010:5-24"
    )


def test_a_dissolve_names_both_sides(tmp_path: Path) -> None:
    reading = read_edl(tmp_path, """
        001 AX V C     5 5 0 0
        001 AX V D 010 1 5 0 4
        * FROM CLIP NAME: 010-010
        * TO CLIP NAME: 010-020
    """)  # fmt: skip
    assert runs(reading) == "010-020:1-4"
    assert said(reading) == [
        "film.edl row 2: event '001': a dissolve of 10 frames: "
        "frames are counted to the edit point."
    ]


@pytest.mark.parametrize("channel", ["V/A1", "VA1A2", "AA/V2", "VV", "VIDEO", "v/a1", "X"])
def test_an_event_of_an_unknown_channel_is_said_and_keeps_its_film_time(
    tmp_path: Path, channel: str
) -> None:
    told = (
        "film.edl row {}: event '{}': its channel is neither picture nor sound that is known; "
        "its film time counts, nothing is seen. Picture is V, V2, B, AA/V or VA1, sound A, A2, AA "
        "or A1A2: correct the channel."
    )
    lines = (
        f"001 010-010 {channel} C 1 4 0 3",
        "002 010-010 V C 1 3 3 5",
        f"003 010-020 {channel} C 1 3 4 9",
    )
    reading = read_edl(tmp_path, "\n".join(lines))
    assert runs(reading) == "-3 010-010:1-2 -4"
    assert said(reading) == [told.format(1, "001"), told.format(3, "003")]
    alone = read_edl(tmp_path, lines[0])
    assert said(alone) == ["film.edl: holds no edits of picture.", told.format(1, "001")]


@pytest.mark.parametrize("channel", ["A", "A2", "A12", "AA", "AA2", "A1A2", "a1a2a3", "NONE"])
def test_sound_alone_is_neither_seen_nor_said(tmp_path: Path, channel: str) -> None:
    lines = f"001 010-010 V C 1 3 0 2\n002 010-020 {channel} C 1 9 2 10\n"
    reading = read_edl(tmp_path, lines)
    assert (runs(reading), said(reading)) == ("010-010:1-2", [])


def test_an_unknown_clip_is_said_with_its_line(tmp_path: Path) -> None:
    reading = read_edl(tmp_path, "001 X V C 1 3 0 2\n002 010-010 V C 1 3 2 4\n")
    assert runs(reading) == "-2 010-010:1-2"
    assert said(reading) == [
        "film.edl row 1: clip 'X': at 00:00:00:00 of the film, 2 frames: names no shot of the log. "
        "A title or a slug may stay as it is."
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("001 X V C 1 9 0 4", "row 1: event '001': its source is 8 frames and its record 4, and"),
        ("001 X V C 1 5 0 4\n002 X V C 1 5 3 7",
         "row 2: event '002': begins at 3, before event 001 (row 1) ends at 4."),
        ("001 X V C 9 1 0 8", "row 1: event '001': its source ends (1) before it begins (9)."),
        ("001 X V C 1 9 8 0", "row 1: event '001': its record ends (0) before it begins (8)."),
        ("001 X V C 1 9 0 0\nM2 X 024.0 0", "its source is 8 frames, but it is on screen for none"),
        ("001 X V C 00:00:00:24 00:00:01:01 0 1",
         "row 1: source in '00:00:00:24': event 001: frames go from 00 to 23."),
        ("001 X V C 00:00:00.01 00:00:01:01 0 1", "source in '00:00:00.01': event 001: is not a"),
        ("001 X V C 00:00:00;01 00:00:00;02 0 1", "drop-frame timecode exists only at 30000/1001"),
        ("001 X V K B 000 0 5 0 5", "row 1: event '001': keys are not read"),
        ("001 X V C 1 2", "film.edl row 1: '001 X V C 1 2': is not an edit."),
        ("TITLE: X\nFCM: DROP FRAME\n001 X V C 1 2 0 1",
         "row 2: FCM 'DROP FRAME': drop-frame timecode exists only at 30000/1001 and 60000/1001, "
         "not at 24."),
        ("001 X AA C 1 2 0 1", "film.edl: holds no edits of picture."),
        ("a shopping list", "film.edl: holds no edits."),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(tmp_path: Path, text: str, words: str) -> None:
    reading = read_edl(tmp_path, text)
    assert reading.cut is None
    assert words in said(reading)[0]


def test_all_problems_are_said_in_the_order_of_the_lines(tmp_path: Path) -> None:
    reading = read_edl(tmp_path, "001 X V C 5 5 0 4\n002 X V C 1 2\n003 X V C 1 9 1 9\n")
    assert [line.split(":")[0] for line in said(reading)] == ["film.edl row 1", "film.edl row 2"]


@pytest.mark.parametrize("data", [b"", b" \n\n", b"\0\1\2\3", b"\x89PNG\r\n\x1a\n\xff\xfe"])
def test_files_that_are_no_edit_list(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "film.edl"
    path.write_bytes(data)
    assert len(read_cut(path, LOG).problems) == 1


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(tmp_path: Path, encoding: str, end: str) -> None:
    text = "TITLE: Été\n001 AX V C 1 3 0 2\n* FROM CLIP NAME: Café_7\n"
    path = tmp_path / "film.edl"
    path.write_bytes(text.replace("\n", end).encode(encoding))
    assert runs(read_cut(path, log_of("café"))) == "café:1-2"


class TestDropFrame:
    """SMPTE ST 12-1 at 30000/1001: 1799 is 00:00:59;29, 1800 is 00:01:00;02."""

    LOG = log_of("a", rate="30000/1001", length=9000)

    def test_fcm_makes_labels_with_colons_drop_frame(self, tmp_path: Path) -> None:
        event = "001 a V C 00:00:59:28 00:01:00:04 00:00:59:28 00:01:00:04\n"
        drop = read_edl(tmp_path, "FCM: DROP FRAME\n" + event, self.LOG)
        assert runs(drop) == "a:1798-1801"
        plain = read_edl(tmp_path, "FCM: NON-DROP FRAME\n" + event, self.LOG)
        assert runs(plain) == "a:1798-1803"

    def test_semicolons_are_drop_frame(self, tmp_path: Path) -> None:
        event = "001 a V C 00:00:59;28 00:01:00;04 00:00:59;28 00:01:00;04\n"
        assert runs(read_edl(tmp_path, event, self.LOG)) == "a:1798-1801"

    def test_a_later_fcm_line_is_about_the_source(self, tmp_path: Path) -> None:
        text = (
            "FCM: DROP FRAME\n001 a V C 1 3 00:00:00:00 00:00:00:02\nFCM: NON-DROP FRAME\n"
            "002 a V C 00:01:00:00 00:01:00:02 00:00:00:02 00:00:00:04\n"
        )
        assert runs(read_edl(tmp_path, text, self.LOG)) == "a:1-2 a:1800-1801"

    def test_a_label_that_does_not_exist_is_refused(self, tmp_path: Path) -> None:
        text = "FCM: DROP FRAME\n001 a V C 00:01:00:00 00:01:00:02 0 2\n"
        (found,) = said(read_edl(tmp_path, text, self.LOG))
        assert "does not exist: drop-frame timecode skips it" in found


@pytest.mark.parametrize("rate", ["24000/1001", "25", "30", "48", "50", "60000/1001", "12", "18"])
def test_it_is_read_at_the_rate_of_the_production(tmp_path: Path, rate: str) -> None:
    log = log_of("a", rate=rate)
    reading = read_edl(tmp_path, "001 a V C 00:00:01:00 00:00:02:00 01:00:00:00 01:00:01:00", log)
    nominal = log.production.rate.nominal
    assert runs(reading) == f"a:{nominal}-{2 * nominal - 1}"


@pytest.mark.parametrize("speed", ["024.0", "023.98", "023.976", "24"])
def test_normal_speed_at_24000_1001(tmp_path: Path, speed: str) -> None:
    log = log_of("a", rate="24000/1001")
    assert runs(read_edl(tmp_path, f"001 a V C 1 5 0 4\nM2 a {speed} 0\n", log)) == "a:1-4"


@pytest.mark.parametrize(
    ("rate", "speed", "seen"),
    [
        # Twice, half, a third and backwards, by the rate itself or by the whole number.
        ("30000/1001", "059.94", "a:1-7by2"),
        ("30000/1001", "060.0", "a:1-7by2"),
        ("30000/1001", "59.9", "a:1-7by2"),
        ("30000/1001", "-059.94", "a:7-1by2"),
        ("24000/1001", "047.95", "a:1-7by2"),
        ("24000/1001", "-047.952", "a:7-1by2"),
        ("60000/1001", "119.88", "a:1-7by2"),
        ("24000/1001", "071.93", "a:1-10by3"),
        ("24000/1001", "-023.98", "a:4-1"),
        ("30000/1001", "-29.97", "a:4-1"),
    ],
)
def test_a_speed_at_a_fractional_rate_is_the_simplest_that_is_written_so(
    tmp_path: Path, rate: str, speed: str, seen: str
) -> None:
    first, last = (int(n) for n in seen[2:].split("by")[0].split("-"))
    source = abs(last - first) // 3 * 4
    event = f"001 a V C 1 {1 + source} 0 4\nM2 a {speed} 0\n"
    assert runs(read_edl(tmp_path, event, log_of("a", rate=rate))) == seen


@pytest.mark.parametrize("rate", ["24", "25", "24000/1001", "30000/1001", "60000/1001"])
@pytest.mark.parametrize("places", [1, 2, 3, 6])
def test_a_simple_speed_is_read_from_either_normal(rate: str, places: int) -> None:
    own = FrameRate.parse(rate)
    finest = 6 if places == 1 else 12  # with one decimal 49/60 and 9/11 are written the same
    for below in range(1, finest + 1):
        for speed in (Fraction(above, below) for above in range(1, 5 * below)):
            for normal in (Fraction(own.nominal), own.per_second):
                written = decimal_text(speed * normal, places)
                assert (written, of_normal(written, own)) == (written, speed)
                assert of_normal(f"-{written}", own) == -speed


@pytest.mark.parametrize(
    ("rate", "written", "speed"),
    [
        ("24", "023.0", Fraction(23, 24)),  # as written, though 96 per cent is as near
        ("24", "023", Fraction(23, 24)),
        ("24", "007.92", Fraction(33, 100)),
        ("24", "052.6", Fraction(263, 120)),
        ("24000/1001", "07.91", Fraction(33, 100)),
        ("24", "016.0", Fraction(2, 3)),
        ("30000/1001", "000.0", Fraction(0)),
        ("24", "000.1", Fraction(1, 240)),
        ("24", "031.4159", Fraction(314159, 240000)),
    ],
)
def test_other_speeds_are_what_is_written(rate: str, written: str, speed: Fraction) -> None:
    assert of_normal(written, FrameRate.parse(rate)) == speed
    assert of_normal(f"-{written}", FrameRate.parse(rate)) == -speed


@given(st.text(alphabet="0123456789:;VCDAM2 *\n\tXKW-.", max_size=200))
def test_any_text_gives_a_cut_or_words(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    path = tmp_path_factory.mktemp("any") / "film.edl"
    path.write_text(text)
    reading = read_cut(path, LOG)
    assert (reading.cut is None) == bool(reading.problems)


@given(data=st.data())
def test_a_damaged_list_gives_a_cut_or_words(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    path = tmp_path_factory.mktemp("damaged") / "film.edl"
    at = data.draw(st.integers(0, len(IN_SECONDS) - 1))
    other = data.draw(st.sampled_from(["\n", "9", ";", " ", "V", "é", "\u2028", ""]))
    path.write_text(IN_SECONDS[:at] + other + IN_SECONDS[at + 1 :], encoding="utf-8")
    reading = read_cut(path, LOG)
    assert (reading.cut is None) == bool(reading.problems)


@pytest.mark.parametrize(
    ("speeds", "seen"),
    [
        # As many as there are edits of the reel: each its own.
        ("M2 010-010 048.0 0\nM2 010-010 012.0 0\n", "010-010:1-7by2 010-010:11x2 010-010:12x2"),
        # One for two edits is that of the last.
        ("M2 010-010 012.0 0\n", "010-010:1-4 010-010:11x2 010-010:12x2"),
    ],
)
def test_several_speeds_of_one_reel_in_an_event(tmp_path: Path, speeds: str, seen: str) -> None:
    length = 9 if speeds.count("M2") == 2 else 5
    edits = f"001 010-010 V C 1 {length} 0 4\n001 010-010 V D 002 11 13 4 8\n"
    assert runs(read_edl(tmp_path, edits + speeds)) == seen


def test_a_speed_of_another_reel_and_sound_of_its_own_take_nothing_away(tmp_path: Path) -> None:
    events = (
        "001 010-010 V C 1 9 0 4\n001 010-010 A C 1 9 0 4\nM2 010-020 012.0 0\nM2 010-010 048.0 0\n"
    )
    assert runs(read_edl(tmp_path, events)) == "010-010:1-7by2"
