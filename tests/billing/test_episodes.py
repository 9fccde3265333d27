"""Episodes: their shots, the work behind these, thresholds and sections of one, a proof each."""

from __future__ import annotations

from fractions import Fraction

from credits.billing.credits import Credits
from credits.billing.plan import CreditPlan, PlannedSection
from credits.billing.thresholds import Threshold, ThresholdUnit
from credits.figures.snapshot import Snapshot
from credits.model.episodes import episodes_of, replay_episode
from credits.model.replay import replay
from tests.small_log import small_log

# At 24 frames a second: Ana 24 frames in each episode; Ben 12 in the second. Wick is in both,
# Brine in the first alone; Cai made Brine, Dov the second copy of Wick, which only 102 shows.
SERIES = """
    [people]
    person
    ana
    ben
    cai
    dov
    eve

    [engagements]
    person, department, job_title
    eve, Production, Producer

    [characters]
    character
    wick
    brine

    [puppets]
    puppet, character
    wick-1, wick
    wick-2, wick
    brine-1, brine

    [sequences]
    sequence
    010
    020

    [shots]
    shot, sequence, frames, episode
    010-010, 010, 24, 101
    020-010, 020, 36, 102

    [entries]
    craft, person, character, puppet, sequence, shot, frames, finished_on
    animation, ana, wick, wick-1, , 010-010, 1-24, 2026-03-02
    animation, ana, brine, brine-1, , 010-010, 1-24, 2026-03-02
    animation, ana, wick, wick-2, , 020-010, 1-24, 2026-03-03
    animation, ben, wick, wick-2, , 020-010, 25-36, 2026-03-03
    fabrication, cai, brine, brine-1
    fabrication, dov, wick, wick-2
    voice, ben, wick, , 010
    track-reading, eve
"""
CUT = "shot, first, last\n010-010, 1, 24\n020-010, 1, 36"
ONE_SECOND = Threshold(least=Fraction(1), unit=ThresholdUnit.SECONDS, measure="screen")
ANIMATORS = PlannedSection(
    heading="Animators", crafts=("animation",), at_least=ONE_SECOND, below="Additional animation"
)
MAKERS = PlannedSection(heading="Makers", crafts=("fabrication",))


def compiled(episode: str, *sections: PlannedSection) -> Credits:
    log = small_log(SERIES, CUT)
    plan = CreditPlan("a plan", sections)
    return Snapshot(replay_episode(log, episode), plan, episode=episode).credits


def names(credits: Credits) -> dict[str, list[str]]:
    return {
        section.heading: [line.person for line in section.lines] for section in credits.sections
    }


def test_the_episodes_are_those_of_the_shots() -> None:
    assert episodes_of(replay(small_log(SERIES))) == ("101", "102")


def test_thresholds_count_the_footage_of_the_episode_alone() -> None:
    assert names(compiled("101", ANIMATORS)) == {"Animators": ["ana"]}
    assert names(compiled("102", ANIMATORS)) == {
        "Animators": ["ana"],
        "Additional animation": ["ben"],
    }


def test_work_on_a_puppet_counts_where_the_puppet_is_seen() -> None:
    assert names(compiled("101", MAKERS)) == {"Makers": ["cai"]}
    assert names(compiled("102", MAKERS)) == {"Makers": ["dov"]}


def test_work_on_a_sequence_and_work_that_names_nothing() -> None:
    voices = PlannedSection(heading="Voices", crafts=("voice", "track-reading"))
    assert names(compiled("101", voices)) == {"Voices": ["ben", "eve"]}
    assert names(compiled("102", voices)) == {"Voices": ["eve"]}


def test_a_section_of_one_episode_is_in_its_credits_alone() -> None:
    own = PlannedSection(heading="For 102", crafts=("animation",), episodes=("102",))
    assert names(compiled("101", own)) == {}
    assert list(names(compiled("102", own))) == ["For 102"]
    log = small_log(SERIES, CUT)
    whole = Snapshot(replay(log), CreditPlan("a plan", (own,))).credits
    assert list(names(whole)) == ["For 102"]


def test_nobody_of_an_episode_is_missing() -> None:
    for episode in ("101", "102"):
        credits = compiled(episode, ANIMATORS)
        owed = {entry.person for entry in replay_episode(small_log(SERIES, CUT), episode).entries}
        assert credits.printed | {held.person for held in credits.held} >= owed
        assert "eve" in {held.person for held in credits.held}
