"""Reading a credit plan: what it may say, and every problem at once with its line."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from credits.billing.plan import CreditPlan, Layout, Once, Order, PlannedSection, RoleShown
from credits.billing.thresholds import Threshold, ThresholdUnit
from credits.errors import ProblemsFound
from credits.formats.plan.read import read_plan_file, read_plan_text
from credits.formats.plan.write import EXAMPLES, plan_text, read_threshold
from credits.formats.tables.cells import Unreadable
from credits.model.ledger import Ledger
from tests.small_log import small_ledger

PRODUCTION = """
    [people]
    person
    ana
    ben

    [engagements]
    person, department, job_title, guaranteed_heading
    ana, Puppet hospital, Puppet repair
    ben, Animation, Lead animator, Lead animators

    [characters]
    character
    wick
    brine
"""
WHOLE = '''\
name = "Second round"
once = "all"

[[section]]
guaranteed = true

[[section]]
heading = "Cast"
cast = ["voice", "singing"]
layout = "character and names"

[[section]]
heading = "{character}"
performances = "all"

[[section]]
heading = "Animators"
crafts = [
    "animation",     # the ones on the stage ]
    "lip-sync",
]
characters = ["Wick"]
at_least = "20 seconds on screen"
below = "Additional animation"
order = "footage"
layout = "names"
columns = 3

[[section]]
heading = "Additional animation"
layout = "names"

[[section]]
heading = "Hospital"
departments = ["puppet  HOSPITAL"]
job_titles = ["Puppet repair"]
people = ["ben"]
by_hand = ["ben", "ana"]
layout = "role and name"

[[section]]
heading = "Thanks"
text = """
To [[section]] the *valley*,
heading = "and its echo".
"""
once = "section"
'''


@pytest.fixture
def ledger() -> Ledger:
    return small_ledger(PRODUCTION)


def problems(text: str, ledger: Ledger) -> list[str]:
    with pytest.raises(ProblemsFound) as found:
        read_plan_text(text, ledger)
    return [str(finding) for finding in found.value.findings]


def section(*lines: str) -> str:
    return "\n".join(["[[section]]", *lines])


def test_a_whole_plan(ledger: Ledger) -> None:
    text = WHOLE.replace('once = "section"\n', "")
    screen = Threshold(least=Fraction(20), unit=ThresholdUnit.SECONDS, measure="screen")
    assert read_plan_text(text, ledger) == CreditPlan(
        "Second round",
        (
            PlannedSection(heading="", every_guaranteed=True, order=Order.CONTRACT),
            PlannedSection(
                heading="Cast",
                cast=("voice", "singing"),
                order=Order.APPEARANCE,
                layout=Layout.CHARACTER_AND_NAMES,
                role=RoleShown.CHARACTERS,
            ),
            PlannedSection(heading="{character}", every_performance=True),
            PlannedSection(
                heading="Animators",
                crafts=("animation", "lip-sync"),
                characters=("wick",),
                at_least=screen,
                below="Additional animation",
                order=Order.FOOTAGE,
                layout=Layout.NAMES,
                columns=3,
            ),
            PlannedSection(heading="Additional animation", layout=Layout.NAMES),
            PlannedSection(
                heading="Hospital",
                departments=("puppet hospital",),
                job_titles=("puppet repair",),
                people=("ben",),
                order=Order.BY_HAND,
                by_hand=("ben", "ana"),
                layout=Layout.ROLE_AND_NAME,
                role=RoleShown.JOB_TITLE,
            ),
            PlannedSection(
                heading="Thanks", text='To [[section]] the *valley*,\nheading = "and its echo".\n'
            ),
        ),
        Once.ALL,
    )


def test_a_plan_that_is_written_reads_back_as_it_was(ledger: Ledger) -> None:
    plan = read_plan_text(WHOLE.replace('once = "section"\n', ""), ledger)
    assert read_plan_text(plan_text(plan, ledger), ledger) == plan


def test_every_problem_is_said_at_once_with_its_line_and_what_would_be_right(
    ledger: Ledger,
) -> None:
    text = (
        WHOLE.replace('"lip-sync"', '"lip-sink"')
        .replace('"20 seconds on screen"', '"20 secs"')
        .replace('order = "footage"', 'ordr = "footage"')
        .replace('"ben", "ana"', '"ben", "anna"')
        .replace('once = "all"', 'once = "always"')
    )
    assert problems(text, ledger) == [
        "credit-plan.toml line 2: once 'always': is not how often somebody is named. "
        'Write "section" or "all".',
        "credit-plan.toml line 20: crafts 'lip-sink': there is no such craft. "
        "Write lip-sync, or add it to the crafts table.",
        "credit-plan.toml line 23: at_least '20 secs': 'secs' is nothing that is counted. "
        "Did you mean seconds? Write a number with 20 seconds on screen, 480 frames kept, ... "
        "(seconds, frames or feet shot, kept, accepted, in the cut, on screen), 10 stage days, "
        "15 days, 2 % of the character's screen time, or 12 entries.",
        "credit-plan.toml line 25: ordr 'footage': is no word of a section. Did you mean order?",
        "credit-plan.toml line 38: by_hand 'anna': there is no such person. "
        "Write ana, or add them to the people table.",
        "credit-plan.toml line 47: once 'section': does not go with text: this is fixed text. "
        "With text go heading, layout, pictures, episodes, heading_also, level, space, size only.",
    ]


@pytest.mark.parametrize(
    ("lines", "problem"),
    [
        (['heading = "A"'], "line 2: heading 'A': nobody can stand here. Say who: crafts, charac"),
        (['crafts = ["voice"]'], "line 1: heading: a section needs a heading."),
        (['heading = " "', 'crafts = ["voice"]'], "line 2: heading ' ': is not a text."),
        (['heading = "A"', "crafts = [1]"], "line 3: crafts: is not a list of texts."),
        (['heading = "A"', "crafts = []"], "line 3: crafts: names nothing."),
        (
            ['heading = "A"', 'departments = ["Puppet hospitel"]'],
            "line 3: departments 'Puppet hospitel': there is no such department. "
            "Write Puppet hospital, or see the engagements table.",
        ),
        (
            ['heading = "A"', 'characters = ["brin"]'],
            "line 3: characters 'brin': there is no such character. Write brine, or",
        ),
        (
            ['heading = "A"', 'crafts = ["voice"]', 'at_least = "2 seconds on screen"'],
            "line 4: at_least '2 seconds on screen': nobody reaches that: these crafts make no",
        ),
        (
            ['heading = "A"', 'crafts = ["voice"]', 'below = "held"'],
            "line 4: below 'held': nobody is below: the section asks for nothing.",
        ),
        (
            ['heading = "A"', 'crafts = ["animation"]', 'at_least = "1 day"', 'below = "a"'],
            "line 5: below 'a': is this section itself.",
        ),
        (
            ['heading = "A"', 'crafts = ["animation"]', "columns = 4"],
            "line 4: columns '4': is no number of columns. Write 1 to 3.",
        ),
        (
            ['heading = "A"', 'crafts = ["animation"]', 'layout = "card"', "columns = 2"],
            "line 5: columns '2': 'card' stands in one column.",
        ),
        (
            ['heading = "A"', 'crafts = ["animation"]', 'layout = "crd"'],
            "line 4: layout 'crd': is no layout. Did you mean 'card'? Write one of: names, role",
        ),
        (
            ['heading = "A"', 'crafts = ["animation"]', 'order = "by hand"'],
            "line 4: order 'by hand': does not say in which order.",
        ),
        (
            ['heading = "A"', 'by_hand = ["ana"]', 'order = "name"', 'people = ["ana"]'],
            "line 4: order 'name': is not the order by_hand gives.",
        ),
        (["guaranteed = false", 'heading = "A"'], "line 2: guaranteed 'false': means nothing."),
        (["guaranteed = true", 'heading = "A"'], "line 3: heading 'A': stands for itself"),
        (
            ['heading = "A"', 'cast = ["voice"]', 'layout = "names"'],
            "line 4: layout 'names': a cast list has characters.",
        ),
        (
            ['heading = "A"', 'performances = ["wick"]', 'people = ["ana"]'],
            "line 4: people: does not go with performances: this is a performance block.",
        ),
    ],
)
def test_what_a_section_cannot_say(lines: list[str], problem: str, ledger: Ledger) -> None:
    (found,) = problems(section(*lines), ledger)
    assert found.startswith(f"credit-plan.toml {problem}")


@pytest.mark.parametrize(
    ("below", "heading"),
    [("held", None), ("Held", None), ("Held over", "Held over"), ("held by", "held by")],
)
def test_held_is_a_word_of_its_own_and_may_begin_a_heading(
    below: str, heading: str | None, ledger: Ledger
) -> None:
    first = section(
        'heading = "A"', 'crafts = ["animation"]', 'at_least = "1 day"', f'below = "{below}"'
    )
    plan = read_plan_text(first, ledger)
    assert plan.sections[0].below == heading
    assert read_plan_text(plan_text(plan, ledger), ledger) == plan


def test_headings_may_not_send_people_in_a_circle(ledger: Ledger) -> None:
    lead = section('heading = "Lead"', 'crafts = ["animation"]', 'at_least = "9 days"')
    more = section('heading = "More"', 'at_least = "3 days"', 'below = "lead"')
    assert problems(f'{lead}\nbelow = "More"\n{more}', ledger) == [
        "credit-plan.toml line 5: below 'More': leads back to this section. "
        'Let one of the headings say below = "held".',
        "credit-plan.toml line 9: below 'lead': leads back to this section. "
        'Let one of the headings say below = "held".',
    ]


def test_nobody_can_be_sent_to_fixed_text(ledger: Ledger) -> None:
    text = section('heading = "A"', 'crafts = ["animation"]', 'at_least = "9 days"')
    text += '\nbelow = "Thanks"\n' + section('heading = "Thanks"', 'text = "To all"')
    (found,) = problems(text, ledger)
    assert found.startswith("credit-plan.toml line 5: below 'Thanks': is a section of fixed text")


@pytest.mark.parametrize(
    ("text", "start"),
    [
        ("[[section]]\nheading = Cast\n", "credit-plan.toml line 2: 'heading = Cast': is not TOML"),
        ('[[section]]\nheading = "A', "credit-plan.toml line 2: "),
        ('[section]\nheading = "A"\n', "credit-plan.toml: section: is not a list of sections"),
        ("", "credit-plan.toml: the plan has no section"),
        (
            'nam = "x"\n',
            "credit-plan.toml line 1: nam 'x': is no word of a plan. Did you mean name?",
        ),
    ],
)
def test_what_is_no_plan(text: str, start: str, ledger: Ledger) -> None:
    assert problems(text, ledger)[0].startswith(start)


def test_a_file_in_another_encoding_or_that_is_a_folder_is_said(
    tmp_path: Path, ledger: Ledger
) -> None:
    path = tmp_path / "credit-plan.toml"
    path.write_bytes('name = "Größe"'.encode("cp1252"))
    with pytest.raises(ProblemsFound, match=r"credit-plan.toml: is not UTF-8 text"):
        read_plan_file(path, ledger)
    (tmp_path / "folder").mkdir()
    with pytest.raises(ProblemsFound, match="cannot be read"):
        read_plan_file(tmp_path / "folder", ledger)


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path: Path, ledger: Ledger) -> None:
    path = tmp_path / "credit-plan.toml"
    path.write_bytes(
        section('heading = "A"', 'crafts = ["voice"]').replace("\n", "\r\n").encode("utf-8-sig")
    )
    assert read_plan_file(path, ledger).sections == (
        PlannedSection(heading="A", crafts=("voice",)),
    )


@pytest.mark.parametrize(
    ("text", "threshold"),
    [
        (
            "20 seconds on screen",
            Threshold(least=Fraction(20), unit=ThresholdUnit.SECONDS, measure="screen"),
        ),
        (
            "at least 2.5 Seconds  in the cut",
            Threshold(least=Fraction(5, 2), unit=ThresholdUnit.SECONDS, measure="cut"),
        ),
        ("1 second kept", Threshold(least=Fraction(1), unit=ThresholdUnit.SECONDS, measure="kept")),
        ("1/3 foot shot", Threshold(least=Fraction(1, 3), unit=ThresholdUnit.FEET, measure="shot")),
        (
            "9 character frames accepted",
            Threshold(
                least=Fraction(9), unit=ThresholdUnit.FRAMES, measure="accepted", by_character=True
            ),
        ),
        ("10 stage days", Threshold(least=Fraction(10), unit=ThresholdUnit.STAGE_DAYS)),
        ("1 day", Threshold(least=Fraction(1), unit=ThresholdUnit.DAYS)),
        ("12 entries", Threshold(least=Fraction(12), unit=ThresholdUnit.ENTRIES)),
        (
            "2 % of the character's screen time",
            Threshold(least=Fraction(2), unit=ThresholdUnit.PERCENT),
        ),
        (
            "2% of the character’s screen time",
            Threshold(least=Fraction(2), unit=ThresholdUnit.PERCENT),
        ),
        (
            "2 per cent of the character's screen time",
            Threshold(least=Fraction(2), unit=ThresholdUnit.PERCENT),
        ),
    ],
)
def test_thresholds_are_read(text: str, threshold: Threshold) -> None:
    assert read_threshold(text) == threshold
    assert read_threshold(threshold.words) == threshold


def test_the_examples_that_are_shown_can_be_read() -> None:
    for example in EXAMPLES:
        assert read_threshold(example).words == f"at least {example}"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "is not a threshold"),
        ("twenty seconds", "is not a threshold"),
        ("-3 days", "is not a threshold"),
        ("1/0 days", "is not a threshold"),
        ("0 days", "everybody reaches that: a threshold is more than 0"),
        ("3 shots", "'shots' is nothing that is counted"),
        ("3 seconds", "does not say by which measure"),
        ("3 seconds seen", "'seen' is no measure"),
        ("3 days kept", "'kept' does not belong to days"),
        ("3 %", "does not say of what"),
        ("101 % of the character's screen time", "nobody reaches that: there are 100 per cent"),
    ],
)
def test_what_is_no_threshold_is_said(text: str, what: str) -> None:
    with pytest.raises(Unreadable) as found:
        read_threshold(text)
    assert found.value.what == what
    assert found.value.hint or what.startswith(("everybody", "nobody"))
