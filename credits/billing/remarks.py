"""What in a plan is allowed and seldom meant: headings that are equal, headings over nobody."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from credits.billing.credits import Credits
from credits.billing.plan import CHARACTER_MARK, CreditPlan, PlannedSection
from credits.model.words import counted, in_sentence
from credits.text import fold_words


def plan_remarks(plan: CreditPlan, credits: Credits) -> tuple[str, ...]:
    """Say what a producer may not have meant, a sentence each, in the order of the plan.

    credits: those that the plan makes now.
    """
    return (*_equal_headings(plan), *_over_nobody(plan, credits))


def _equal_headings(plan: CreditPlan) -> Iterator[str]:
    """Sections of one heading under the same heading of level 1: people go to the first alone."""
    found: Counter[tuple[str, str]] = Counter()
    spelled: dict[tuple[str, str], str] = {}
    above = ""
    for section in plan.sections:
        if section.level == 1:
            above = fold_words(section.heading) if section.alone else ""
        if section.heading and CHARACTER_MARK not in section.heading:
            key = (above, fold_words(section.heading))
            found[key] += 1
            spelled.setdefault(key, section.heading)
    for key, times in found.items():
        if times > 1:
            sections = counted(times, "section")
            yield f"{sections} are called '{in_sentence(spelled[key])}': call each otherwise."


def _over_nobody(plan: CreditPlan, credits: Credits) -> Iterator[str]:
    printed = {fold_words(section.heading) for section in credits.sections}
    episode = fold_words(credits.episode)
    for section in plan.sections:
        elsewhere = credits.episode and section.episodes and episode not in section.episodes
        if elsewhere or not _asks_for_people(section):
            continue
        if fold_words(section.heading) not in printed:
            yield f"Nobody stands under '{in_sentence(section.heading)}'."


def _asks_for_people(section: PlannedSection) -> bool:
    return section.takes_people and not section.lines and not section.pictures
