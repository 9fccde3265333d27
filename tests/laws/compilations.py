"""Compilations of the credits that nobody chose: what prints drawn field by field, crowded, so that
two of them have people, headings and texts in common."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from credits.billing.credits import Credits, Held, Line, NamedKind, Picture, Section, Size
from credits.billing.plan import Layout
from credits.billing.reasons import Reason, ReasonKind

RULE = (Reason(kind=ReasonKind.NAMED_BY_PLAN),)
CODES = ("", "", "ana", "anna", "ben", "cai")
ONE_PERSON = {"ana": "ana", "anna": "ana", "ben": "ben", "cai": "cai"}
NAMES = ("Ana", "Ana Quist", "Ana\nQuist", "=cmd()", "עדן", "Ben Ode", "<b>", "Ana  Quist")
ROLES = (None, None, "", "Wick", "Wick, Brine")
WORDS = ("", "", "und", "&", "With")
HEADINGS = ("Animators", "animators", "Voices", "", "With", "Leads")
TEXTS = ("", "", "To the mice.", "To the *cats*.", "To the mice.\n\nAnd the rest.")
HELD_KINDS = (ReasonKind.UNCREDITED, ReasonKind.BELOW_THRESHOLD, ReasonKind.NO_SECTION)

lines = st.builds(
    Line,
    person=st.sampled_from(CODES),
    name=st.sampled_from(NAMES),
    role=st.sampled_from(ROLES),
    characters=st.sampled_from([(), ("wick",)]),
    confirmed=st.booleans(),
    because=st.sampled_from([(), RULE]),
    named=st.sampled_from(NamedKind),
    role_also=st.sampled_from(WORDS),
    note=st.sampled_from(WORDS),
    joined=st.sampled_from(WORDS),
)
pictures = st.builds(
    Picture, file=st.sampled_from(["a.png", "b.svg"]), shows=st.just("A logo"), lines=st.just(2)
)
sections = st.builds(
    Section,
    heading=st.sampled_from(HEADINGS),
    lines=st.lists(lines, max_size=5).map(tuple),
    layout=st.sampled_from(Layout),
    columns=st.integers(1, 3),
    text=st.sampled_from(TEXTS),
    heading_also=st.sampled_from(WORDS),
    level=st.integers(1, 2),
    space=st.integers(0, 2),
    size=st.sampled_from(Size),
    pictures=st.lists(pictures, max_size=1).map(tuple),
).map(lambda own: own if own.lines else replace(own, layout=Layout.TEXT))
held = st.builds(
    Held,
    person=st.sampled_from(CODES[2:]),
    name=st.sampled_from(NAMES),
    kind=st.sampled_from(HELD_KINDS),
    because=st.just(RULE),
)
held_lines = held.map(lambda one: replace(one, heading="Voices"))
compilations = st.builds(
    Credits,
    plan=st.sampled_from(["built-in plan", "credit plan"]),
    title=st.sampled_from(["The Small Film", "The Large Film"]),
    sections=st.lists(sections, max_size=4).map(tuple),
    held=st.lists(held, max_size=3).map(tuple),
    held_lines=st.lists(held_lines, max_size=2).map(tuple),
    order_of_appearance=st.lists(st.sampled_from(["wick", "brine"]), unique=True).map(tuple),
)


@st.composite
def touched(draw: st.DrawFn) -> tuple[Credits, Credits]:
    """A compilation, and the same after a few changes of the kind that people make."""
    before = draw(compilations)
    own = list(before.sections)
    for _ in range(draw(st.integers(0, 3))):
        if not own:
            break
        at = draw(st.integers(0, len(own) - 1))
        section = own[at]
        what = draw(st.sampled_from(["move", "heading", "text", "line", "lines", "gone"]))
        if what == "move":
            own.insert(draw(st.integers(0, len(own) - 1)), own.pop(at))
        elif what == "heading":
            own[at] = replace(section, heading=draw(st.sampled_from(HEADINGS)))
        elif what == "text":
            own[at] = replace(section, text=draw(st.sampled_from(TEXTS)))
        elif what == "gone":
            own.pop(at)
        elif what == "lines":
            own[at] = replace(section, lines=tuple(draw(st.permutations(section.lines))))
        elif section.lines:
            place = draw(st.integers(0, len(section.lines) - 1))
            new = draw(st.lists(lines, max_size=1))
            rest = section.lines[place + 1 :]
            own[at] = replace(section, lines=(*section.lines[:place], *new, *rest))
            if not own[at].lines:
                own[at] = replace(own[at], layout=Layout.TEXT)
    return before, replace(before, sections=tuple(own))


pairs = st.one_of(st.tuples(compilations, compilations), touched())
