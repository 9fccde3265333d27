"""Writing a credit plan: the first one, commented, for a producer to change."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from credits.billing.credits import Credits
from credits.billing.plan import CreditPlan, Layout, Once, Order, PlannedSection, RoleShown
from credits.formats.plan.words import HELD, WHO_KEYS, Book, books_of
from credits.model.ledger import Ledger
from credits.text import fold_words, quoted_toml

LINE_LENGTH = 96
BEGINNING = """\
# The credit plan: which sections the end credits have, in which order, and who stands in each.
# Lines that begin with # are remarks. This plan does what is done without one: change it as the
# production wishes, and read what comes of it with: credits roll, credits why PERSON

"""

VOCABULARY = """\

# ---------------------------------------------------------------------------------------------
# Everything that a section may say. Take the # away from the lines that you need.
#
# [[section]]
# heading = "Lead animators"
#
# Who stands here. Work, an engagement, or both:
# crafts = ["animation"]              whose work is in the log, by code of the craft
# characters = ["wick"]               ... on these characters only
# departments = ["Animation"]         who is engaged there; job_titles = ["Animator"] narrows it
# people = ["ana"]                    these people, whatever thresholds say: somebody decided it
# guaranteed = ["With"]               whom a contract guarantees this heading; guaranteed = true:
#                                     every guaranteed heading without a section of its own
#
# How much is asked for, and where those go who are below it. Exactly at it is enough.
# at_least = "20 seconds on screen"   seconds, frames or feet; shot, kept, accepted, in the cut or
#                                     on screen. They share a frame among its characters; with
#                                     "20 character seconds" a frame counts for each character
# at_least = "10 stage days"          days with work of a craft with footage
# at_least = "15 days"                days with work that this section takes
# at_least = "2 % of the character's screen time"    of the character where it is most
# at_least = "12 entries"
# below = "Additional animation"      another heading; or "held": somebody has to decide (as when
#                                     below is not written)
#
# order = "name"                      or "contract" (billing number), "appearance" (of the
#                                     characters), "footage" (on screen), "by hand" with
# by_hand = ["ana", "ben"]            first these, then the others by name
#
# layout = "names"                    names alone, with columns = 1, 2 or 3; "role and name";
#                                     "character and names"; "card": one card
# role = "job title"                  what stands beside a name: also "characters", "craft"
# once = "section"                    under once = "all" at the top of the plan: this section
#                                     names people although they stand elsewhere too
#
# A cast list, a line for each character. Who does another craft than the first has it named:
# [[section]]
# heading = "Cast"
# cast = ["voice", "singing"]
#
# A block for each character: its voice, animated by, made by:
# [[section]]
# heading = "{character}"
# performances = ["wick"]             or "all": everybody in order of appearance
#
# Fixed text, in Markdown:
# [[section]]
# heading = "With thanks to"
# text = \"\"\"
# The people of the valley.
# \"\"\"
"""


def first_plan(plan: CreditPlan, ledger: Ledger, credits: Credits) -> str:
    """Write the text of a plan with remarks, the vocabulary behind it.

    ``credits``: compiled by this plan; how many people stand where is remarked.
    """
    counts = {
        fold_words(section.heading): len({line.person for line in section.lines})
        for section in credits.sections
    }
    return BEGINNING + plan_text(plan, ledger, counts) + VOCABULARY


def plan_text(plan: CreditPlan, ledger: Ledger, counts: dict[str, int] | None = None) -> str:
    """Write the plan as TOML that reads back as the same plan. ``counts``: people by heading, to be
    remarked beside it."""
    books = books_of(ledger)
    parts = [f"name = {quoted_toml(plan.name)}\n"]
    if counts is not None:
        parts.append(
            '# How often somebody is named: once in a "section", or once in "all", under the\n'
            "# first heading that takes them.\n"
        )
    parts.append(f"once = {quoted_toml(plan.once)}\n")
    for section in plan.sections:
        remark = "" if counts is None else _remark(section, counts)
        parts.append(f"\n{remark}[[section]]\n{''.join(_lines(section, plan.once, books))}")
    return "".join(parts)


def _remark(section: PlannedSection, counts: dict[str, int]) -> str:
    if section.every_guaranteed:
        return "# Every heading that a contract guarantees, by billing number.\n"
    people = counts.get(fold_words(section.heading), 0)
    if not people:
        return "# Nobody yet.\n"
    return f"# {people} {'person' if people == 1 else 'people'} when this plan was written.\n"


def _lines(section: PlannedSection, once: Once, books: Mapping[str, Book]) -> Iterator[str]:
    """The keys of a section that are not as they would be without a word."""
    if section.heading:
        yield f"heading = {quoted_toml(section.heading)}\n"
    for key, book in books.items():
        texts = [book.spelled.get(held, held) for held in getattr(section, key)]
        if texts and key in WHO_KEYS:
            yield f"{key} = {_array(key, texts)}\n"
    if section.every_performance:
        yield 'performances = "all"\n'
    if section.every_guaranteed:
        yield "guaranteed = true\n"
    if section.text:
        yield f"text = {_long(section.text)}\n"
    if section.at_least is not None:
        yield f"at_least = {quoted_toml(section.at_least.words.removeprefix('at least '))}\n"
        yield f"below = {quoted_toml(section.below or HELD)}\n"
    yield from _settings(section, once)


def _settings(section: PlannedSection, once: Once) -> Iterator[str]:
    if section.by_hand:
        yield f"by_hand = {_array('by_hand', section.by_hand)}\n"
    elif not section.text:
        order = Order.NAME if section.order is Order.BY_HAND else section.order
        yield f"order = {quoted_toml(order)}\n"
    plain = not (section.cast or section.performances or section.every_performance)
    if section.role is not RoleShown.NOTHING and plain:
        yield f"role = {quoted_toml(section.role)}\n"
    if section.layout is not None:
        yield f"layout = {quoted_toml(section.layout)}\n"
    if section.columns and section.layout in (None, Layout.NAMES):
        yield f"columns = {section.columns}\n"
    if section.once not in (None, once):
        yield f"once = {quoted_toml(section.once)}\n"


def _long(text: str) -> str:
    """A text over several lines, read back as it was."""
    if not text.isprintable() and text.replace("\n", "").isprintable():
        inside = "\n".join(quoted_toml(line)[1:-1] for line in text.split("\n"))
        return f'"""\n{inside}"""'
    return quoted_toml(text)


def _array(key: str, texts: Iterable[str]) -> str:
    """A list of texts: on one line where it fits, else a line for each."""
    every = [quoted_toml(text) for text in texts]
    line = f"[{', '.join(every)}]"
    if len(key) + len(line) + 3 <= LINE_LENGTH:
        return line
    return "[\n" + "".join(f"    {text},\n" for text in every) + "]"
