"""A small, complete production in which every field that some edition may not have is a canary.

A canary is a word or a number that stands in this one field and nowhere else, so that wherever it
turns up, this field has come there. Words begin with ``zq``; numbers are primes of four digits;
days are the third of May, and the year says of which field.
"""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from PIL import Image, PngImagePlugin

from credits.cli.main import run
from tests.productions import production_from, written_tables

TABLES = {
    "people": """
        person,credit_name,sort_name,legal_name,email,isni,credit_wish,name_confirmed_on,same_as,note
        ana,Ana Lind,"Lind, Ana",zqlegal,zqmail@a.example,000000012281955X,,1961-05-03,,zqpersonnote
        zqsamecode,Zqsamename,,zqsamelegal,,,,,ana,
        ben,Ben Moor,"Moor, Ben",,,,,,,
        cai,Zqoldspelling,Zqoldsort,,,,,,,
        dee,Dee Ford,"Ford, Dee",,,,,,,
        eli,Eli Marsh,"Marsh, Eli",,,,,,,
        zqheldcode,Zqheldname,Zqheldsort,,,,,,,zqheldnote
        zqhiddencode,Zqhiddenname,Zqhiddensort,zqhiddenlegal,,,uncredited,,,zqhiddenpersonnote
    """,
    "engagements": """
        person,department,job_title,starts_on,ends_on,guaranteed_heading,billing_number
        ben,zqdepartment,zqjobtitle,1962-05-03,1963-05-03,zqguaranteed,7883
        zqhiddencode,zqhiddendepartment,zqhiddenjob,,,zqhiddenguarantee,7879
    """,
    "characters": """
        character,name,silent,note
        wick,Wick,no,zqcharacternote
        brine,Brine,yes,
    """,
    "puppets": """
        puppet,character,copy,scale,ready_on,retired_on,note
        wick-1,wick,1,1:1,1966-05-03,1980-05-03,zqpuppetnote
        wick-2,wick,2,,,,
        brine-1,brine,1,,,,
    """,
    "parts": """
        part,kind,character,note
        wick-face-3,face,wick,zqpartnote
        wick-coat,costume,wick,
    """,
    "fittings": """
        part,puppet,from_on,to_on
        wick-coat,wick-1,1967-05-03,1979-05-03
    """,
    "sequences": """
        sequence,name
        zqsequence,zqpassage
    """,
    "shots": """
        shot,sequence,frames,status,description,episode
        zqshot-1,zqsequence,6229,done,zqdescription,zqepisode
        zqshot-2,zqsequence,48,shooting,,
        zqshot-3,zqsequence,24,omitted,,
    """,
    "stages": """
        stage,unit
        zqstage,zqunit
        zqstage-2,
    """,
    "takes": """
        shot,take,purpose,decision,decided_on
        zqshot-1,1,block,open,
        zqshot-1,2,shoot,accepted,1978-05-03
        zqshot-2,1,shoot,retake,
    """,
    "replacements": """
        shot,take,character,part,frames
        zqshot-1,2,wick,wick-face-3,"101-200,301-4813"
    """,
    "entries": """
        ref,craft,person,character,puppet,part,sequence,shot,take,frames,poses_on,share,started_on,finished_on,minutes,wait_minutes,stage,note,private,logged_by
        zqref,animation,ana,wick,wick-1,,,zqshot-1,2,37-5003,2,,,1971-05-03,7919,,zqstage,zqordinary,,zqloggedby
        ,animation,ana,wick,wick-1,,,zqshot-1,1,1-24,,,,1971-05-02,60,,zqstage,zqprivate,yes,
        ,animation,ben,wick,wick-1,,,zqshot-1,2,4789-6121,,1/2,,1971-05-04,7877,,zqstage,zqbennote,,
        ,animation,cai,wick,wick-1,,,zqshot-1,2,4900-5010,,,,1971-05-05,60,,zqstage-2,,,
        ,animation,dee,wick,,,,zqshot-1,2,4900-5010,,,,1971-05-05,60,,zqstage,,,
        ,animation,eli,wick,wick-2,,,zqshot-2,1,1-48,,,,1971-05-06,60,,zqstage,,,
        ,animation,zqheldcode,brine,brine-1,,,zqshot-1,2,5501-5557,,,,1971-05-05,7867,,zqstage,zqheldentry,,
        ,animation,zqhiddencode,brine,brine-1,,,zqshot-1,2,5551-5600,,,,1971-05-06,7873,,zqstage,zqhiddenprivate,yes,
        ,animation,eli,wick,wick-1,,,zqshot-3,,1-24,,,,1971-05-07,60,,,,,
        ,voice,dee,wick,,,,,,,,,,1985-11-08,,,,,,
        ,singing,dee,wick,,,,,,,,,,,,,,,,
        ,track-reading,cai,wick,,,zqsequence,,,,,,,,,,,,,
        ,lip-sync,cai,wick,,,zqsequence,,,,,,,,,,,,,
        ,animation-assist,cai,wick,,,,zqshot-1,2,1-24,,,,1971-05-03,,,zqstage,,,
        ,rigging,eli,wick,wick-1,,,zqshot-1,2,,,,,1971-05-03,,,zqstage,,,
        ,design,ben,wick,,,,,,,,,,1964-06-01,,,,,,
        ,maquette,ben,wick,,,,,,,,,,1964-06-02,,,,,,
        ,sculpt,ben,wick,,,,,,,,,1964-05-03,1965-05-03,7853,,,,,
        ,armature,ben,,wick-1,,,,,,,,,1965-06-01,,,,,,
        ,mould,eli,,wick-1,,,,,,,,,1965-06-02,,,,,,
        ,casting,eli,,wick-1,,,,,,,,,1965-06-03,,,,,,
        ,casting,zqhiddencode,,wick-2,,,,,,,,,1965-06-04,,,,,,
        ,faces,eli,,,wick-face-3,,,,,,,,1965-06-05,,,,,,
        ,faces,zqheldcode,,,wick-face-3,,,,,,,,1965-06-05,,,,,,
        ,fabrication,eli,,wick-2,,,,,,,,,1965-06-06,,,,,,
        ,costume,eli,,,wick-coat,,,,,,,,1965-06-07,,,,,,
        ,hair,eli,,wick-1,,,,,,,,,1965-06-08,,,,,,
        ,paint,eli,,wick-1,,,,,,,,,1965-06-09,,,,,,
        ,repair,ben,,wick-1,,,zqshot-1,2,,,,,1971-05-03,7829,7907,zqstage,zqrepairnote,,
        ,repair,ben,,,wick-coat,,,,,,,,1971-05-03,7823,7901,,zqrepairprivate,yes,
        ,repair,zqhiddencode,,brine-1,,,zqshot-1,2,,,,,1971-05-06,7817,7793,zqstage,,,
        zqamendedref,paint,ben,,wick-2,,,,,,,,,1965-06-10,,,,zqoldnote,,
        zqvoidedref,paint,ben,,wick-2,,,,,,,,,1965-06-11,7789,,,zqvoidnote,,
    """,
}  # fmt: skip

CUT = """\
shot,first,last
zqshot-1,41,5987
zqshot-2,1,24
"""

PLAN = """\
# zqplanremark
name = "zqplanname"
once = "section"

[[section]]
heading = "By contract"
guaranteed = ["zqguaranteed"]

[[section]]
heading = "Voices"
cast = ["voice", "singing"]

[[section]]
heading = "Animators"
crafts = ["animation"]
characters = ["wick"]

[[section]]
heading = "Animators of Brine"
crafts = ["animation"]
characters = ["brine"]
at_least = "7841 seconds on screen"
below = "held"

[[section]]
heading = "On the stage"
crafts = ["track-reading", "lip-sync", "animation-assist", "rigging"]
layout = "role and name"
role = "craft"

[[section]]
heading = "Makers"
crafts = ["design", "maquette", "sculpt", "armature", "mould", "casting", "fabrication"]

[[section]]
heading = "Menders"
crafts = ["repair"]
people = ["ben"]

[[section]]
heading = "Thanks"
text = "To everybody who kept quiet at noon."
"""


def photograph() -> bytes:
    """A JPEG that knows more than its picture."""
    exif = Image.Exif()
    exif[0x010E] = "zqexif"
    out = BytesIO()
    Image.new("RGB", (32, 24), (200, 120, 40)).save(out, "JPEG", exif=exif, comment=b"zqcomment")
    return out.getvalue()


def scan() -> bytes:
    """A PNG with texts beside its picture."""
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Comment", "zqpngtext")
    texts.add_itxt("XML:com.adobe.xmp", "<x>zqpngxmp</x>")
    out = BytesIO()
    Image.new("RGB", (32, 24), (40, 120, 200)).save(out, "PNG", pnginfo=texts)
    return out.getvalue()


DRAWING = """\
<?xml version="1.0"?>
<!-- zqsvgcomment -->
<svg xmlns="http://www.w3.org/2000/svg" xmlns:ink="https://example.org/ink" viewBox="0 0 8 8"
 ink:file="zqsvgattribute">
<metadata>zqsvgmetadata</metadata><desc>zqsvgdescription</desc>
<g><!-- zqsvginner --><circle cx="4" cy="4" r="3"/></g>
</svg>
"""

PICTURES = {
    "wick.jpg": photograph(),
    "brine.png": scan(),
    "wick-1.svg": DRAWING.encode(),
    "zqshot-1.png": scan(),
    "zqforeign.png": scan(),
}


def _done(folder: Path, *words: str) -> None:
    status = run([*words, "--production", str(folder)])
    assert status == 0, words


def canary_production(folder: Path) -> Path:
    """Make the production in ``folder``: loaded, cut, corrected, settled, proofed, confirmed."""
    tables = written_tables(folder.with_name(f"{folder.name}-tables"), TABLES)
    (tables.parent / "zqcutfile.csv").write_text(CUT, "utf-8")
    production_from(folder, [tables], cut=tables.parent / "zqcutfile.csv")
    (folder / "credit-plan.toml").write_text(PLAN, "utf-8")
    (folder / "pictures").mkdir()
    for name, content in PICTURES.items():
        (folder / "pictures" / name).write_bytes(content)
    _done(
        folder, "amend", "A-32", "--note", "zqnewnote", "--why", "zqamendwhy", "--by", "zqamendby",
    )  # fmt: skip
    _done(folder, "void", "A-33", "--why", "zqvoidwhy", "--by", "zqvoidby")
    _done(
        folder, "answer", "omitted-shot-worked", "zqshot-3",
        "--why", "zqsettledwhy", "--by", "zqsettledby",
    )  # fmt: skip
    _done(folder, "roll", "--save", "--note", "zqproofnote", "--by", "zqproofby")
    _done(
        folder, "confirm", "cai", "--as", "Cai Holm", "--on", "1986-05-03", "--by", "zqconfirmedby",
    )  # fmt: skip
    return folder
