"""The reasons in words: why somebody stands under a heading, or why not."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from credits.billing.credits import CONTRACT_RULE, Because
from credits.billing.find import Fall, Found
from credits.billing.plan import PlannedSection
from credits.billing.threshold import Reached
from credits.model.ledger import Entry, Ledger

Figures = list[tuple[str, int | str]]
FAR = 10**9


def billing_number(ledger: Ledger, person: str, found: Found) -> int:
    """The number of the contract that speaks for this heading: the guaranteed one, else that of the
    engagements found, else of any that guarantees no other heading; far behind without one."""
    own = ledger.engagements.get(person, ())
    open_ones = tuple(job for job in own if not job.guaranteed_heading)
    for jobs in (found.guaranteed, found.engagements, open_ones):
        numbers = [job.billing_number for job in jobs if job.billing_number is not None]
        if numbers:
            return min(numbers)
    return FAR


def _days(entries: Iterable[Entry]) -> list[date]:
    return sorted(entry.day for entry in entries if entry.day is not None)


def _job_titles(found: Found) -> tuple[str, str]:
    """The job titles of the guaranteed engagements, and of the others."""
    return (
        ", ".join(dict.fromkeys(job.job_title for job in found.guaranteed)),
        ", ".join(dict.fromkeys(job.job_title for job in found.engagements)),
    )


def rule_of(ledger: Ledger, section: PlannedSection, found: Found) -> str:
    """The rules that put the person there, in sentences."""
    guaranteed, engaged = _job_titles(found)
    rules = []
    if found.guaranteed:
        headings = dict.fromkeys(job.guaranteed_heading for job in found.guaranteed)
        named = " and ".join(f"'{heading}'" for heading in headings)
        what = "heading" if len(headings) == 1 else "headings"
        rules.append(f"{CONTRACT_RULE} {what} {named} (engaged as {guaranteed}).")
    if found.named:
        rules.append("The plan names this person under this heading.")
    if found.engagements:
        what = "with this job title" if section.job_titles else "in this department"
        rules.append(f"The crew list has an engagement {what} ({engaged}).")
    if found.entries:
        crafts = ", ".join(dict.fromkeys(ledger.crafts[e.craft].name for e in found.entries))
        of = " on this character" if section.characters or section.performances else ""
        rules.append(f"The log has work of this craft ({crafts}){of}.")
    return " ".join(rules)


def figures_of(found: Found, reached: Reached | None = None) -> tuple[tuple[str, int | str], ...]:
    """The figures behind it: engagements, billing number, entries, days, what was reached."""
    figures: Figures = []
    jobs = (*found.guaranteed, *found.engagements)
    if jobs:
        figures.append(("engagements", len(jobs)))
    numbers = [j.billing_number for j in found.guaranteed if j.billing_number is not None]
    if numbers:
        figures.append(("billing number", min(numbers)))
    if found.entries:
        figures.append(("entries", len(found.entries)))
        days = _days(found.entries)
        if days:
            figures += [("first day", days[0].isoformat()), ("last day", days[-1].isoformat())]
    if reached is not None and reached.threshold.counted_in not in dict(figures):
        figures.append((reached.threshold.counted_in, reached.shown))
    return tuple(figures)


def reached_words(ledger: Ledger, reached: Reached) -> str:
    """``at least 2 % of the character's screen time: 3.50 reached (Wick)``."""
    of = ledger.characters.get(reached.character or "")
    return f"{reached.words} ({of.name})" if of is not None else reached.words


def fall_words(ledger: Ledger, fall: Fall) -> str:
    """``'Animators' asks for at least 20 seconds on screen: 12.50 reached``."""
    return f"'{fall.heading}' asks for {reached_words(ledger, fall.reached)}"


def threshold_words(
    ledger: Ledger, found: Found, reached: Reached | None, falls: Iterable[Fall] = ()
) -> str:
    """What was asked for and reached, here and in the sections that the person fell through."""
    words = [f"{fall_words(ledger, fall)}." for fall in falls]
    if reached is not None:
        here = f"This heading asks for {reached_words(ledger, reached)}."
        if found.whatever and not reached.enough:
            who = "a contract guarantees the heading" if found.guaranteed else "the plan names them"
            here = f"{here[:-1]}; it does not count, since {who}."
        words.append(here)
    return " ".join(words)


def because(
    ledger: Ledger,
    section: PlannedSection,
    found: Found,
    reached: Reached | None = None,
    falls: Iterable[Fall] = (),
) -> Because:
    """The whole reason of a line, or of a section that considered somebody."""
    return Because(
        rule_of(ledger, section, found),
        figures_of(found, reached),
        tuple(entry.number for entry in found.entries),
        threshold_words(ledger, found, reached, falls),
    )
