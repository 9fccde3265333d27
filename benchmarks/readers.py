"""What reads each kind of input, and small right examples of it that are then broken."""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import zipfile
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from urllib.parse import quote

import xlwt
from PIL import Image, PngImagePlugin
from xlsxwriter import Workbook

from benchmarks import mutations
from benchmarks.mutations import Content
from credits import apart, names, text
from credits.app.work.filled import plan_sheets
from credits.app.work.line import LineReader, split_words
from credits.cli.main import run
from credits.desk.page import place_key
from credits.errors import CreditsError
from credits.footage.day import Workplace
from credits.formats.cut.read import read_cut
from credits.formats.drawings import UnreadablePictureError
from credits.formats.pictures import read_picture
from credits.formats.plan.read import read_plan_file
from credits.formats.tables.faces import plan_face_sheet
from credits.formats.tables.sheets import read_tables
from credits.model.ledger import Ledger
from credits.model.log import WrittenLog
from credits.model.replay import replay
from credits.site.links import file_name
from credits.site.markdown import markdown, markdown_line
from credits.store.log import open_log
from credits.store.settings import read_settings
from credits.units.film_time import FrameRate, frame_of_timecode
from credits.units.frames import Frames
from tests.apart_here import read_here
from tests.doors.one_day import DeskClient
from tests.productions import production_from, written_tables

TABLES = {
    "people": "person,credit_name,sort_name,credit_wish\nana,Ana Lind,\"Lind, Ana\",\n"
    "ben,Ben Ødegård,,uncredited\ncai,Cai,,credited\n",
    "characters": "character,name,silent,note\nwick,Wick,no,*brave*\nbrine,Brine,yes,\n",
    "puppets": "puppet,character,copy,ready_on\nwick-1,wick,1,2026-01-05\nbrine-1,brine,1,\n",
    "parts": "part,kind,character\nwick-face-3,face,wick\nwick-face-4,face,wick\n",
    "sequences": "sequence,name\n010,The pier\n",
    "shots": "shot,sequence,frames,status\n010-020,010,120,done\n010-030,010,48,shooting\n",
    "stages": "stage,unit\nS1,Main\n",
    "takes": "shot,take,purpose,decision,decided_on\n010-020,1,shoot,accepted,2026-03-03\n",
    "engagements": "person,department,job_title,starts_on\nana,Animation,Animator,2025-01-01\n",
    "entries": "ref,craft,person,character,puppet,shot,take,frames,share,finished_on,minutes,stage,"
    "note\n1,animation,ana,wick,wick-1,010-020,1,1-48,,2026-03-02,480,S1,slow\n"
    "2,animation,cai,brine,brine-1,010-020,1,\"1-20,25-48\",1/2,2026-03-02,90,S1,\n"
    "3,sculpt,cai,wick,,,,,,2025-09-01,,,\n",
}  # fmt: skip
FACES = "frame,wick\n1,wick-face-3\n2,4\n3,wick-face-4\n10,\n"
CUTS = {
    ".csv": "shot,take,first,last,speed,shown\n010-020,1,9,40,1,\n010-030,,1,24,1/2,48\n"
    "010-020,,5,5,0,12\n",
    ".edl": "TITLE: REEL 1\nFCM: NON-DROP FRAME\n\n"
    "001  010-020  V     C        00:00:00:08 00:00:01:16 01:00:00:00 01:00:01:08\n"
    "* FROM CLIP NAME: 010-020 TAKE 1\n"
    "002  010-030  V     D    012 00:00:00:01 00:00:01:01 01:00:01:08 01:00:02:08\n"
    "M2   010-030       024.0                00:00:00:01\n"
    "003  BL       V     C        00:00:00:00 00:00:00:12 01:00:02:08 01:00:02:20\n",
}  # fmt: skip
PLAN = """\
name = "second plan"
once = "section"
[[credited]]
person = "ana"
as = "A. Lind"
[[section]]
heading = "Animators"
crafts = ["animation"]
at_least = "1 seconds on screen"
below = "Additional animation"
columns = 2
[[section]]
heading = "Additional animation"
departments = ["Animation"]
role = "job title"
[[section.lines]]
name = "Nether Hum Bakery"
kind = "company"
[[section]]
heading = "Thanks"
text = \"\"\"
The people of the *valley*.
\"\"\"
"""
SETTINGS = """\
title = "The Small Film"
code = "small"
frame_rate = "24000/1001"
gauge = "35mm-4perf"
day_minutes = 600
names_by = 2026-04-01
[review]
expectation = "off"
[targets.frames_a_week]
2026-03-02 = 300
[sheets]
"Crew list*" = "people"
"""
DRAWING = """\
<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY red "#f00">]>
<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="9mm"
 viewBox="0 0 9 9"><style>.a { fill: url(#g); stroke: #333 }</style><defs><linearGradient id="g">
<stop offset="0" stop-color="&red;"/></linearGradient><g id="p"><path d="M0 0L9 9"/></g></defs>
<use xlink:href="#p" transform="rotate(9)"/><text class="a" style="font: 9px serif">Wick</text>
<script>alert(1)</script><a href="https://a.example/"><rect onclick="x()" width="3"/></a></svg>
"""
COMMANDS = (
    "find wick", "find --day 2026-03-02", "log animation ana wick 010-020 1-48 --dry-run",
    "amend A-1 --frames 1-40 --why slow", "void A-1 --why gone", "footage --by person --json",
    "hands 010-020 --frame 9", "reach --json", "why ana", "check --json", "roll --json",
    "day 2026-03-02 --list", "review ana --from 2026-03-01 --json", "confirm ana --as Ana",
    "correct people ana credit_name=Ana --why x", "export text --edition public",
    "export jsonld --for wick", "answer no-engagement cai --why x", "same cai ana",
    "roll --length 1:30", "sheet --date monday --stage S1 --out sheet.xlsx", "load people.csv",
    "cut cut.csv --shot-pattern (?P<shot>.*)", "plan --out -", "verify",
)  # fmt: skip
LINES = (
    "animation ana wick 010-020 1-48 8h", "ana+cai wick-1 010-020/1 1-20,25-48 x2 S1 'so slow'",
    "repair ben wick-1 1:30 note 'a wire'", "voice ana brine 2026-03-02 -- a text",
)  # fmt: skip
NOTES = (
    "A *brave* puppet, see [the page](https://a.example/x) and `code`.",
    "# Head\n\n- one\n- two\n\n> said\n\n| a | b |\n| - | - |\n| 1 | 2 |\n\n1. x\n   2. y",
    "<script>alert(1)</script> [x](javascript:alert(1)) ![x](y.png) <a@b.example> **[ab][c]**",
)
NAMES = (
    "Ana Lind", "von und zu Hohenzwitscher, Maria", "Ben Ødegård", "רשא המרג'אני", "رشا المرجاني",
    "葉桜", "👩‍👩‍👧", "O’Neill-Smith 3rd", "wick-1", "010-020", "S1/2", "Ελένη Ψαρρά", "Дмитрий",
)  # fmt: skip
FRAMES = ("1-48", "1-20,25-48", "17", "1 - 20; 25-48", "24000/1001", "01:00:00:00", "00;59;59;28")
POSTS = (
    '{"path": "/check", "body": {"day": "2026-03-02", "place": "PLACE", "rows": [{"craft": '
    '"animation", "person": "ana", "on": "wick-1", "shot": "010-020", "frames": "1-48", '
    '"minutes": "8h", "note": "x"}]}}',
    '{"path": "/log", "body": {"day": "2026-03-02", "place": "PLACE", "by": "x", "again": true,'
    ' "rows": [{"craft": "animation", "person": "cai", "on": "brine-1", "shot": "010-020"}]}}',
    '{"path": "/amend", "body": {"number": "A-1", "fields": {"frames": "1-20"}, "why": "x"}}',
    '{"path": "/void", "body": {"number": "A-2", "why": "gone", "by": "x"}}',
    '{"path": "/undo", "body": {"by": "x"}}',
    '{"path": "/load?name=people.csv&write=0&amend=1", "body": {}}',
    '{"path": "/since?day=2026-03-02&position=1", "body": null}',
    '{"path": "/day/2026-03-02", "body": null}',
    '{"path": "/office/index.html", "body": null}',
)


# --- The production that input is read beside


@dataclass(frozen=True)
class Beside:
    """A small production, its log and its ledger; ``folder`` is where files to be read go."""

    folder: Path
    film: Path
    written: WrittenLog
    ledger: Ledger


_BESIDE: list[Beside] = []


_READ_APART = apart.read_apart


def _read(reader: str, *words: str, given: bytes | None = None) -> bytes:
    is_known = any(word.endswith(".xls") for word in words)
    return (_READ_APART if is_known else read_here)(reader, *words, given=given)


def begin(folder: Path) -> None:
    """Make the production in a folder; everything is read beside it until another is made.

    What the product reads in a process of its own is read in this one, where what ends it is seen;
    not so ``.xls``, of which it is known that damage can end its library.
    """
    apart.read_apart = _read
    tables = written_tables(folder / "tables", TABLES)
    film = production_from(folder / "film", [tables])
    with open_log(film) as log:
        written = log.read()
    _BESIDE[:] = [Beside(folder, film, written, replay(written))]


def _beside() -> Beside:
    return _BESIDE[-1]


def _file(content: Content, name: str) -> Path:
    """Write a mutant where no other process writes."""
    folder = _beside().folder / str(os.getpid())
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_bytes(mutations.as_bytes(content))
    return path


# --- Readers: whether they took it; what they raise but findings is a crash


def _table(name: str) -> Callable[[Content], bool]:
    def read(content: Content) -> bool:
        sheets = read_tables([_file(content, name)])
        if sheets.problems:
            return False
        plan = plan_sheets(sheets, _beside().written, None, "A", date(2026, 3, 9))
        return not plan.problems

    return read


def _faces(content: Content) -> bool:
    return not plan_face_sheet(_file(content, "s.csv"), "010-020", _beside().written).problems


def _cut(ending: str) -> Callable[[Content], bool]:
    def read(content: Content) -> bool:
        return bool(read_cut(_file(content, f"cut{ending}"), _beside().written).cut.clips)

    return read


def _plan(content: Content) -> bool:
    return bool(read_plan_file(_file(content, "credit-plan.toml"), _beside().ledger).sections)


def _settings(content: Content) -> bool:
    return bool(read_settings(_file(content, "production.toml").parent).title)


_RUNS = re.compile(rb"<script|\son\w+\s*=|javascript:|https?://(?!www\.w3\.org)|<foreign", re.I)


class UnsafeError(Exception):
    """Something came out that runs, leads out, or leaves its folder."""


def _picture(ending: str) -> Callable[[Content], bool]:
    def read(content: Content) -> bool:
        made = read_picture(_file(content, f"wick{ending}"), ending)
        if ending == ".svg":
            shown = re.sub(rb">[^<]*<", b"><", made)
            if _RUNS.search(re.sub(rb'\b(?:id|class|result|in2?)="[^"]*"', b"", shown)):
                raise UnsafeError("a drawing runs or leads out")
        return True

    return read


def _frames(content: Content) -> bool:
    said, taken = str(content), False
    for parse in (
        Frames.parse, FrameRate.parse, lambda text: frame_of_timecode(text, FrameRate.parse("24")),
        lambda text: frame_of_timecode(text, FrameRate.parse("30000/1001")),
    ):  # fmt: skip
        with suppress(CreditsError, ValueError):
            parse(said)
            taken = True
    return taken


def _name(content: Content) -> bool:
    said = str(content)[:2_000]
    names.sort_key(said), names.fold(said), names.initial(said), names.direction(said)
    names.romanised(said)
    address = file_name(said)
    if not re.fullmatch(r"[a-z0-9][a-z0-9_-]{0,59}", address):
        raise UnsafeError(f"an address: {address!r}")
    if text.guarded(said)[:1] in tuple("=+-@\t\r"):
        raise UnsafeError("a formula")
    text.fold_code(said), text.fold_words(said), text.workbook_text(said), text.quoted_toml(said)
    text.nearest(said, ["wick", "brine", "ana"])
    return True


_TAG = re.compile(r"<[a-zA-Z/][^>]*>")
_SAFE_TAG = re.compile(
    r"</?[a-z0-9]+>|<(?:a|abbr|td|th|h\d)(?: (?:href=\"(?:https?|mailto):[^\"]*\"|id=\"[^\"]*\""
    r"|title=\"[^\"]*\"|style=\"text-align: ?\w+;?\"|rel=\"noopener noreferrer\"))*>|<[bh]r>"
)


def _note(content: Content) -> bool:
    for write in (markdown, markdown_line):
        kept = str(content).encode("utf-8", "replace").decode()  # as the log holds it
        for tag in _TAG.findall(write(kept)):
            if not _SAFE_TAG.fullmatch(tag):
                raise UnsafeError(f"a note: {tag[:80]}")
    return True


def _line(content: Content) -> bool:
    LineReader(_beside().written, date(2026, 3, 9)).read(split_words(str(content)))
    return True


def _own_film() -> Path:
    """A copy of the production for this process alone."""
    folder = _beside().folder / f"{os.getpid()}-film"
    if not folder.is_dir():
        shutil.copytree(_beside().film, folder)
        for name in ("people", "entries"):
            (folder / f"{name}.csv").write_text(TABLES[name], "utf-8")
        (folder / "cut.csv").write_text(CUTS[".csv"], "utf-8")
    return folder


def _lines(film: Path) -> int:
    with open_log(film) as log:
        return len(log.read().lines)


_FOR_EVER = {"desk", "demo", "start", "site", "--watch", "backup", "restore", "--out", "--save"}


def _command(content: Content) -> bool:
    words = str(content).split(" ")
    if _FOR_EVER & set(words) and words[-1] != "sheet.xlsx":
        return False
    film = _own_film()
    os.chdir(film)
    before = _lines(film)
    status = run(words, stoppable=False)
    if status not in (0, 1, 2):
        raise UnsafeError(f"exit status {status}")
    if status and _lines(film) != before:
        raise UnsafeError("refused, and written")
    return status == 0


def _post(content: Content) -> bool:
    client = _desk(os.getpid())
    said = mutations.loaded(str(content).replace("PLACE", place_key(Workplace(stage="S1"))))
    path, body = (said.get("path"), said.get("body")) if isinstance(said, dict) else ("/", said)
    # What no browser can ask for is asked for as it would write it.
    address = quote(f"/{str(path).lstrip('/')}"[:3_000].encode("utf-8", "replace"), "/?&=%")
    if body is None:
        answer = client.http.get(address)
    else:
        kind = {"content-type": "application/json"}
        answer = client.http.post(address, content=mutations.dumped(body), headers=kind)
    if answer.status_code >= 500:
        raise UnsafeError(f"answers {answer.status_code}: {answer.text[:200]}")
    return answer.status_code < 400


@cache
def _desk(_: int) -> DeskClient:
    return DeskClient.at(_own_film(), date(2026, 3, 2))


def _told(read: Callable[[Content], bool]) -> Callable[[Content], bool]:
    """What findings refuse is refused, and no crash."""

    def reads(content: Content) -> bool:
        try:
            return read(content)
        except (CreditsError, UnreadablePictureError):
            return False

    return reads


# --- Right examples


def _workbook() -> bytes:
    out = io.BytesIO()
    with Workbook(out, {"in_memory": True}) as book:
        for name in ("people", "entries", "shots"):
            sheet = book.add_worksheet(name)
            for row, line in enumerate(csv.reader(TABLES[name].splitlines())):
                for column, cell in enumerate(line):
                    sheet.write(row, column, cell)
        book.add_worksheet("remarks").write_formula(0, 0, "=1/0", None, "#DIV/0!")
    return out.getvalue()


_ODS = """\
<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.3"><office:body>\
<office:spreadsheet><table:table table:name="people">{rows}<table:table-row \
table:number-rows-repeated="1000"><table:table-cell table:number-columns-repeated="100"/>\
</table:table-row></table:table></office:spreadsheet></office:body></office:document-content>"""


def _ods() -> bytes:
    def cell(value: str) -> str:
        kind = '<table:table-cell office:value-type="string">'
        return f"{kind}<text:p>{value}</text:p></table:table-cell>"

    lines = csv.reader(TABLES["people"].splitlines())
    rows = (f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in lines)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("content.xml", _ODS.format(rows="".join(rows)))
        packed.writestr("META-INF/manifest.xml", "<manifest/>")
    return out.getvalue()


def _xls() -> bytes:
    book, out = xlwt.Workbook(), io.BytesIO()
    sheet = book.add_sheet("people")
    for row, line in enumerate(csv.reader(TABLES["people"].splitlines())):
        for column, cell in enumerate(line):
            sheet.write(row, column, cell)
    book.save(out)
    return out.getvalue()


def _png() -> bytes:
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Comment", "a note", zip=True)
    out = io.BytesIO()
    Image.new("RGBA", (40, 30), (9, 90, 200, 100)).save(out, "PNG", pnginfo=notes)
    return out.getvalue()


def _png_with_colours() -> bytes:
    out = io.BytesIO()
    Image.new("P", (40, 30), 3).save(out, "PNG", transparency=3)
    return out.getvalue()


def _jpeg(*, progressive: bool = False) -> bytes:
    notes, out = Image.Exif(), io.BytesIO()
    notes[0x0112], notes[0x010E] = 6, "a note"
    Image.linear_gradient("L").convert("RGB").save(out, "JPEG", exif=notes, progressive=progressive)
    return out.getvalue()


def _otio() -> str:
    folder = Path(__file__).resolve().parent
    return (folder / "cut.otio").read_text("utf-8")


@dataclass(frozen=True)
class Kind:
    """A kind of input. weight: how many of a thousand mutants are of it."""

    form: mutations.Form
    examples: Callable[[], Sequence[Content]]
    reader: Callable[[Content], bool]
    weight: int

    def seeds(self) -> Sequence[Content]:
        """Return the right examples, each made once."""
        return _examples(self.examples)

    def read(self, content: Content) -> bool:
        """Tell whether it is taken. Raises only what is a crash."""
        return _told(self.reader)(content)


@cache
def _examples(examples: Callable[[], Sequence[Content]]) -> Sequence[Content]:
    return tuple(examples())


def _bytes_of(*texts: str) -> Callable[[], Sequence[Content]]:
    return lambda: [text.encode() for text in texts]


KINDS: dict[str, Kind] = {
    "csv bytes": Kind(
        mutations.broken_bytes, _bytes_of(TABLES["entries"]), _table("entries.csv"), 80
    ),
    "csv entries": Kind(
        mutations.broken_text, lambda: [TABLES["entries"]], _table("entries.csv"), 130
    ),
    "csv people": Kind(mutations.broken_text, lambda: [TABLES["people"]], _table("people.csv"), 70),
    "csv shots": Kind(mutations.broken_text, lambda: [TABLES["shots"]], _table("shots.csv"), 40),
    "face sheet": Kind(mutations.broken_text, lambda: [FACES], _faces, 40),
    "xlsx": Kind(mutations.broken_package, lambda: [_workbook()], _table("people.xlsx"), 70),
    "ods": Kind(mutations.broken_package, lambda: [_ods()], _table("people.ods"), 60),
    "xls": Kind(mutations.broken_bytes, lambda: [_xls()], _table("people.xls"), 5),
    "cut": Kind(mutations.broken_text, lambda: [CUTS[".csv"]], _cut(".csv"), 40),
    "edl": Kind(mutations.broken_text, lambda: [CUTS[".edl"]], _cut(".edl"), 70),
    "otio": Kind(mutations.broken_json, lambda: [_otio()], _cut(".otio"), 70),
    "plan": Kind(mutations.broken_text, lambda: [PLAN], _plan, 60),
    "settings": Kind(mutations.broken_text, lambda: [SETTINGS], _settings, 40),
    "svg": Kind(mutations.broken_xml, _bytes_of(DRAWING), _picture(".svg"), 60),
    "png": Kind(mutations.broken_png, lambda: [_png(), _png_with_colours()], _picture(".png"), 40),
    "jpeg": Kind(
        mutations.broken_bytes,
        lambda: [_jpeg(), _jpeg(progressive=True)],
        _picture(".jpg"),
        40,
    ),
    "frames": Kind(mutations.broken_words, lambda: FRAMES, _frames, 40),
    "name": Kind(mutations.broken_words, lambda: NAMES, _name, 40),
    "note": Kind(mutations.broken_words, lambda: NOTES, _note, 40),
    "line": Kind(mutations.broken_words, lambda: LINES, _line, 40),
    "command": Kind(mutations.broken_words, lambda: COMMANDS, _command, 15),
    "desk": Kind(mutations.broken_json, lambda: POSTS, _post, 20),
}
