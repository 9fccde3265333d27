"""The canaries of the made production, and the least edition that may have each.

The table follows the allow-list of the editions. Exports and review packs follow it too.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from credits.editions import Edition

PUBLIC, CREW, OFFICE = Edition
NOBODY = None


@dataclass(frozen=True)
class Canary:
    """What is looked for. ``least``: the least edition that may have it, NOBODY for none.

    ``site``: whether the site of that edition shows it. ``exports``: where the exports of that
    edition do. ``pack``: whether it is in the review pack of Ana; if not, it may not be.
    ``in_proofs``: a frozen proof has it for everyone. ``not_on``: pages that explain the word.
    """

    name: str
    pattern: str
    least: Edition | None
    site: bool = True
    exports: tuple[str, ...] = ()
    pack: bool = False
    in_proofs: bool = False
    not_on: tuple[str, ...] = ()


def word(
    name: str,
    least: Edition | None,
    *exports: str,
    site: bool = True,
    pack: bool = False,
    in_proofs: bool = False,
) -> Canary:
    """A word, wherever and within whatever it stands."""
    site = site and least is not NOBODY
    return Canary(name, re.escape(name), least, site, exports, pack, in_proofs)


def one_of(*texts: str) -> str:
    """A pattern for any of the texts, standing alone."""
    return rf"(?<![\w.])(?:{'|'.join(map(re.escape, texts))})(?!\w)"


def number(value: int, what: str, least: Edition, *exports: str, pack: bool = False) -> Canary:
    """A number in any dress: ``7919``, ``7,919``, ``131:59``, ``131 h 59``, ``131.98``."""
    hours, rest = divmod(value, 60)
    dresses = (
        f"{value}", f"{value:,}", f"{value // 1000} {value % 1000:03}",
        f"{hours}:{rest:02}", f"{hours} h {rest:02}", f"{value / 60:.2f}",
    )  # fmt: skip
    return Canary(f"{what} {value}", one_of(*dresses), least, True, exports, pack)


def year(of: int, what: str, *exports: str, pack: bool = False) -> Canary:
    """A day by its year, which no other field has: in any spelling, a week, a count of days."""
    days = date(of, 5, 3).toordinal()
    pattern = rf"(?<![\d.])(?:{of}|{days})(?!\d)|{of}0503"
    return Canary(f"{what} in {of}", pattern, CREW, True, exports, pack)


CANARIES = (
    # people
    word("zqlegal", NOBODY),
    word("zqsamelegal", NOBODY),
    word("zqhiddenlegal", NOBODY),
    word("zqmail", NOBODY),
    word("zqpersonnote", OFFICE),
    Canary("isni", "0000 ?0001 ?2281 ?955x", CREW, True, ("prov", "prov-n", "jsonld")),
    word("zqsamecode", OFFICE),
    word("zqsamename", OFFICE),
    word("zqoldsort", CREW),
    word("zqoldspelling", OFFICE, "xlsx", in_proofs=True),
    word("zqconfirmedby", NOBODY),
    year(1961, "name confirmed on"),
    Canary("confirmed", one_of("3 may 1986", "1986-05-03", "1986"), CREW),
    # engagements and contracts
    word("zqdepartment", CREW),
    word("zqjobtitle", CREW),
    word("zqguaranteed", OFFICE, "json", "xlsx"),
    word("zqhiddendepartment", CREW),
    word("zqhiddenjob", OFFICE),
    word("zqhiddenguarantee", OFFICE),
    number(7883, "billing number", OFFICE, "json", "xlsx"),
    number(7879, "billing number", OFFICE),
    year(1962, "engaged from"),
    year(1963, "engaged to"),
    # who is held, and who asked to be uncredited
    word("zqheldcode", CREW, "prov", "prov-n", "jsonld"),
    word("zqheldname", CREW, "prov", "prov-n", "jsonld"),
    word("zqheldsort", CREW),
    word("zqheldnote", OFFICE),
    word("zqheldentry", CREW, "prov", "prov-n"),
    Canary("held, the reason", "held for a decision", OFFICE, True, ("json", "xlsx")),
    number(7841, "threshold", OFFICE, "json"),
    word("zqhiddencode", OFFICE, "json", "xlsx", "prov", "prov-n", "jsonld"),
    word("zqhiddenname", OFFICE, "xlsx", "prov", "prov-n", "jsonld"),
    word("zqhiddensort", OFFICE),
    word("zqhiddenpersonnote", OFFICE),
    word("zqhiddenprivate", OFFICE, "prov", "prov-n"),
    Canary("asked to be uncredited", "asked to be uncredited", CREW, not_on=("counted.html",)),
    # things
    word("zqcharacternote", PUBLIC),
    word("zqpuppetnote", CREW),
    word("zqpartnote", CREW, site=False),
    year(1966, "ready on"),
    year(1980, "retired on"),
    year(1967, "fitted from", "prov", "prov-n"),
    year(1979, "fitted to", "prov", "prov-n"),
    # shots, stages, frames
    word("zqsequence", CREW, "prov", "prov-n", pack=True),
    word("zqpassage", CREW, pack=True),
    word("zqshot", CREW, "prov", "prov-n", "jsonld", pack=True),
    word("zqdescription", CREW),
    word("zqepisode", NOBODY),
    word("zqstage", CREW, "prov", "prov-n"),
    word("zqunit", CREW),
    year(1978, "decided on"),
    number(6229, "length", CREW, "prov", "prov-n"),
    number(5003, "frames", CREW, "prov", "prov-n"),
    number(4789, "frames", CREW, "prov", "prov-n"),
    number(5501, "frames", CREW, "prov", "prov-n"),
    number(5551, "frames", CREW, "prov", "prov-n"),
    number(4813, "frames of a replacement", CREW, "prov", "prov-n"),
    number(5987, "frames of the cut", CREW),
    word("zqcutfile", NOBODY),
    # entries
    Canary("entry", r"(?<![\w-])a-\d+", CREW, True, ("text", "json", "xlsx", "pdf"), True),
    word("zqordinary", CREW, "prov", "prov-n"),
    word("zqprivate", OFFICE, "prov", "prov-n"),
    word("zqbennote", CREW, "prov", "prov-n"),
    word("zqrepairnote", CREW, "prov", "prov-n"),
    word("zqrepairprivate", OFFICE, "prov", "prov-n"),
    word("zqnewnote", CREW, "prov", "prov-n"),
    word("zqoldnote", NOBODY),
    word("zqvoidnote", NOBODY),
    word("zqamendwhy", NOBODY),
    word("zqamendby", NOBODY),
    word("zqvoidwhy", NOBODY),
    word("zqvoidby", NOBODY),
    word("zqref", NOBODY),
    word("zqamendedref", NOBODY),
    word("zqvoidedref", NOBODY),
    word("zqloggedby", NOBODY),
    number(7919, "minutes of Ana", OFFICE, "prov", "prov-n", pack=True),
    number(7877, "minutes of Ben", OFFICE, "prov", "prov-n"),
    number(7867, "minutes of who is held", OFFICE, "prov", "prov-n"),
    number(7873, "minutes of who is uncredited", OFFICE, "prov", "prov-n"),
    number(7853, "minutes of a sculptor", OFFICE, "prov", "prov-n"),
    number(7829, "minutes of a repair", OFFICE, "prov", "prov-n"),
    number(7823, "minutes of a repair", OFFICE, "prov", "prov-n"),
    number(7817, "minutes of a repair", OFFICE, "prov", "prov-n"),
    number(7907, "wait for a puppet", OFFICE, "prov", "prov-n", pack=True),
    number(7901, "wait for a part", OFFICE, "prov", "prov-n", pack=True),
    number(7793, "wait of somebody else", OFFICE, "prov", "prov-n"),
    Canary("minutes of what is void", one_of("7789", "7,789", "129:49"), NOBODY, False),
    year(1964, "begun", "prov", "prov-n", "jsonld"),
    year(1965, "finished", "prov", "prov-n", "jsonld", "json"),
    year(1971, "animated", "prov", "prov-n", "jsonld", "json", pack=True),
    Canary("any day", r"\b3 may\b|-05-03|\bmay \d{4}|-w18", CREW, True, ("json", "prov"), True),
    Canary("the last day of all", one_of("8 november 1985", "1985-11-08"), PUBLIC, True,
           ("text", "xlsx", "pdf", "json", "prov"), True),
    # cut, plan, proof, checks, reviews
    Canary("version of the cut", r"\bcut (version )?1\b", CREW, True,
           ("text", "xlsx", "pdf", "json"), True),
    word("zqplanname", PUBLIC, "pdf"),
    word("zqplanremark", NOBODY),
    word("zqproofnote", OFFICE),
    word("zqproofby", OFFICE),
    word("zqsettledwhy", OFFICE),
    word("zqsettledby", OFFICE),
    # The unit's own is on the page of what is ahead, which the crew has.
    Canary("review", r"(?<!at the )\bpace\b|re-shot share|reviews/", OFFICE, pack=True,
           not_on=("counted.html",)),
    # pictures: what they hold beside the picture, and what is no picture of anything
    *(word(name, NOBODY) for name in (
        "zqexif", "zqcomment", "zqpngtext", "zqpngxmp", "zqsvgcomment", "zqsvginner",
        "zqsvgmetadata", "zqsvgdescription", "zqsvgattribute", "zqforeign",
    )),
)  # fmt: skip
