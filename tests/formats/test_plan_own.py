"""A plan's own lines, names for one place, groups and headings, as they are written in its file."""

from __future__ import annotations

from datetime import date

import pytest

from credits.billing.plan import (
    CreditPlan,
    Layout,
    LinePlace,
    NamedKind,
    NameRule,
    OwnLine,
    Picture,
    PlannedSection,
    RoleShown,
    Size,
)
from credits.errors import ProblemsFound
from credits.formats.plan.read import read_plan_text
from credits.formats.plan.write import plan_text
from credits.model.ledger import Ledger
from tests.small_log import small_ledger

PRODUCTION = """
    [people]
    person, credit_name
    ana, Ana Lind
    ben, Ben Orr

    [engagements]
    person, department, job_title
    ben, Camera, Focus puller

    [characters]
    character, name
    wick, Wick

    [stages]
    stage, unit
    S1, First unit
    S2, Second unit
"""
WHOLE = '''
name = "Everything"
joined_by = "and"

[roles_also]
"Focus puller" = "assistant opérateur"

[[credited]]
person = "ana"
as = "A. Lind"
confirmed_on = 2026-03-04
headings = ["Animators"]
unbroken = true

[[credited]]
person = "ben"
printed = false
job_titles = ["focus puller"]

[[section]]
heading = "The makers"
size = "large"
space = 4

[[section]]
heading = "Animators"
heading_also = "Animation"
level = 2
crafts = ["animation"]
except = ["ben"]
units = ["second unit"]
stages = ["S1"]
once = "Makers"
together = ["ana", "ben"]

[[section]]
heading = "Camera"
departments = ["Camera"]
role = "job title"
sub_headings = true
order = "job title"
once = "makers"

[[section]]
heading = "{character}"
performances = ["wick"]
crafts = ["animation"]
at_least = "2 seconds kept"
below = "Animators"
layout = "names"
columns = 2

[[section]]
heading = "Songs"
lines = ["A plain line"]

[[section]]
heading = "Thanks"

[[section.lines]]
name = """
"The Slow Bell"
words by nobody"""
kind = "song"
note = "sung at noon"

[[section.lines]]
name = "Nether Hum Bakery"
kind = "company"
role = "Bread"
sort_as = "Bakery"
place = "first"
confirmed_on = "2026-03-04"

[[section]]
pictures = [{ file = "fund.svg", shows = "The mark of the fund", lines = 4 }]
'''


@pytest.fixture
def ledger() -> Ledger:
    return small_ledger(PRODUCTION)


def problems(text: str, ledger: Ledger) -> list[str]:
    with pytest.raises(ProblemsFound) as found:
        read_plan_text(text, ledger)
    return [str(finding) for finding in found.value.findings]


def problem(lines: str, ledger: Ledger) -> str:
    [found] = problems(f"[[section]]\n{lines}", ledger)
    return found


def test_everything_is_read(ledger: Ledger) -> None:
    plan = read_plan_text(WHOLE, ledger)
    assert plan == CreditPlan(
        "Everything",
        plan.sections,
        names=(
            NameRule(
                person="ana",
                printed_as="A. Lind",
                confirmed_on=date(2026, 3, 4),
                headings=("animators",),
                unbroken=True,
            ),
            NameRule(person="ben", printed=False, job_titles=("focus puller",)),
        ),
        roles_also=(("focus puller", "assistant opérateur"),),
        joined_by="and",
    )
    above, animators, camera, block, songs, thanks, mark = plan.sections
    assert above == PlannedSection(heading="The makers", size=Size.LARGE, space=4, alone=True)
    assert animators == PlannedSection(
        heading="Animators",
        heading_also="Animation",
        level=2,
        crafts=("animation",),
        excepted=("ben",),
        units=("second unit",),
        stages=("S1",),
        once="makers",
        together=(("ana", "ben"),),
    )
    assert (camera.role, camera.sub_headings) == (RoleShown.JOB_TITLE, True)
    assert (block.layout, block.columns, block.crafts) == (Layout.NAMES, 2, ("animation",))
    assert songs.lines == (OwnLine(name="A plain line"),)
    assert thanks.lines == (
        OwnLine(name='"The Slow Bell"\nwords by nobody', named=NamedKind.SONG, note="sung at noon"),
        OwnLine(
            name="Nether Hum Bakery",
            named=NamedKind.COMPANY,
            role="Bread",
            files_under="Bakery",
            place=LinePlace.FIRST,
            confirmed_on=date(2026, 3, 4),
        ),
    )
    assert mark.pictures == (Picture(file="fund.svg", shows="The mark of the fund", lines=4),)
    assert read_plan_text(plan_text(plan, ledger), ledger) == plan


# --- mistakes


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (
            'heading = "A"\npeople = ["Ana Lind"]',
            "line 3: people 'Ana Lind': there is no such person. "
            "Write ana, the code of 'Ana Lind'.",
        ),
        (
            'heading = "A"\npeople = ["ana", "ANA"]',
            "line 3: people 'ANA': is named twice here. Name each once.",
        ),
        (
            'heading = "{character} and friends"\npeople = ["ana"]',
            "line 2: heading '{character} and friends': stands for a character, and there is none "
            'here. Write performances = ["wick"] beside it, or the name itself.',
        ),
        (
            'heading = "A"\npeople = ["ana"]\nonce = "makrs"',
            "line 4: once 'makrs': no other section is of this group. Write it in each section of "
            "the group.",
        ),
        (
            'heading = "A"\npeople = ["ana"]\nlevel = 3',
            "line 4: level '3': is no level of a heading. Write 1 to 2.",
        ),
        (
            'heading = "A"\npeople = ["ana"]\nsub_headings = true',
            "line 4: sub_headings 'true': there are no roles to be headings. "
            'Write role = "job title" beside it, or role = "craft".',
        ),
        (
            'heading = "A"\npeople = ["ana"]\ntogether = ["ana"]',
            'line 4: together: is not two people or more. Write together = [["ana", "ben"]].',
        ),
        (
            'heading = "A"\n[[section.lines]]\nnam = "x"',
            "line 4: nam 'x': is no word of a line. Did you mean name?",
        ),
        (
            'heading = "A"\n[[section.lines]]\nname = "x"\nkind = "firm"',
            "line 5: kind 'firm': is no kind. Write one of: person, company, animal, song, other.",
        ),
        (
            'heading = "A"\n[[section.lines]]\nname = "x"\nconfirmed_on = "in March"',
            "line 5: confirmed_on 'in March': is not a day. Write confirmed_on = 2026-03-04.",
        ),
        (
            'pictures = [{ file = "../../etc/passwd.png", shows = "x" }]',
            "line 2: file '../../etc/passwd.png': is no picture of the production's folder. "
            'Write file = "fund.svg": .png, .jpg, .jpeg, .svg, of the folder pictures.',
        ),
        (
            'pictures = ["fund.svg"]',
            "line 2: shows: what the picture shows is not said. "
            'Write shows = "The mark of the Valley Fund".',
        ),
    ],
)
def test_a_mistake_is_told_with_its_line(lines: str, said: str, ledger: Ledger) -> None:
    assert said in [
        each.removeprefix("credit-plan.toml ") for each in problems(f"[[section]]\n{lines}", ledger)
    ]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ('person = "ana"', "does not say how the person is credited"),
        ('as = "A"', "does not say who"),
        ('person = "ana"\nas = "A"\nprinted = false', "does not go with printed = false"),
        ('person = "ana"\nnote = "x"\nconfirmed_on = 2026-03-04', "is of no other name"),
        ('person = "anna"\nas = "A"', "there is no such person. Write ana"),
    ],
)
def test_how_somebody_is_credited_says_who_and_how(lines: str, said: str, ledger: Ledger) -> None:
    text = f'[[credited]]\n{lines}\n[[section]]\nheading = "A"\npeople = ["ana"]'
    [found] = problems(text, ledger)
    assert said in found


def test_sections_in_the_plural_are_named_as_such(ledger: Ledger) -> None:
    found = problems('[[sections]]\nheading = "A"\n', ledger)
    assert found[0] == (
        "credit-plan.toml line 1: sections: is no word of a plan. "
        "Write [[section]], for one section, each time."
    )


def test_curly_quotes_are_named_as_such(ledger: Ledger) -> None:
    [found] = problems("[[section]]\nheading = “Animators”\n", ledger)
    assert found == (
        "credit-plan.toml line 2: 'heading = “Animators”': has curly quotes, which hold no text in "
        'this file. Write straight ones: heading = "Animators".'
    )
    assert read_plan_text('[[section]]\nheading = "“A”"\npeople = ["ana"]', ledger).sections


@pytest.mark.parametrize(
    "behind",
    ["", '[[section]]\nheading = "B"\npeople = ["ben"]\n', '[[section]]\ntext = """\nLast.\n"""\n'],
)
def test_a_text_that_is_never_closed_is_told_at_the_line_that_opens_it(
    behind: str, ledger: Ledger
) -> None:
    [found] = problems(f'[[section]]\nheading = "A"\ntext = """\nTo all.\n\n{behind}', ledger)
    assert found.startswith('credit-plan.toml line 3: \'text = """\': opens a text or a list')


def test_a_list_that_is_never_closed_is_told_at_the_line_that_opens_it(ledger: Ledger) -> None:
    text = '[[section]]\nheading = "A"\npeople = [\n  "ana",\n\n[[section]]\nheading = "B"\n'
    [found] = problems(text, ledger)
    assert found.startswith("credit-plan.toml line 3: 'people = [': opens a text or a list")
