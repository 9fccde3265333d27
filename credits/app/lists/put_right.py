"""A list that comes again after its rows were put right: nothing wrong comes back unsaid.

A crew list is kept in a spreadsheet. Where a job title is corrected there, the row is another one
by its key; where it was corrected here, the sheet still has the old one. Both are one engagement.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from credits.app.lists.correct import row_text
from credits.billing.compared.likeness import likeness
from credits.errors import Finding, Place
from credits.formats.tables.columns import TABLES, Sheet, codes_of
from credits.formats.tables.lists import ListChange, Rows, plain_cell
from credits.formats.tables.load import LoadPlan
from credits.model.facts import Engagement
from credits.model.log import REFERENCE_TABLES, ListCorrection, RowCorrection, WrittenLog
from credits.text import fold_words

ENGAGEMENTS = TABLES["engagements"]
LEAST_ALIKE = 85
"""Job titles that are less alike, in per cent, are two jobs, or one that somebody must tell of."""


class _Given(NamedTuple):
    """The engagements that the sheets of a load name, as their keys read, each with its place."""

    places: Mapping[str, Place]

    @classmethod
    def of(cls, sheets: Iterable[Sheet], written: WrittenLog) -> _Given:
        """Read the keys of the sheets of engagements; what cannot be read is told elsewhere."""
        books, found = codes_of(written), {}
        for sheet in sheets:
            rows = Rows(sheet) if sheet.table == ENGAGEMENTS.name else None
            if rows is None or not rows.usable:
                continue
            keys = rows.by_row(books, *(c.name for c in ENGAGEMENTS.columns if c.key))
            for index, key in enumerate(keys):
                found[", ".join(filter(None, map(plain_cell, key)))] = sheet.place(index)
        return cls(found)


def put_right(
    plan: LoadPlan,
    sheets: Sequence[Sheet],
    written: WrittenLog,
    corrections: Sequence[ListCorrection],
) -> LoadPlan:
    """Return a plan that brings back nothing that was corrected, and takes a new job title of an
    engagement, where the old one is no longer in the sheet, for its correction.

    What was voided may be loaded again, and is told. corrections: those of the log.
    """
    if plan.problems or plan.needs_word:
        return plan
    notes = [*plan.notes, *_back_again(plan, written, corrections)]
    there = {row_text(ENGAGEMENTS, job) for job in written.engagements}
    new = [job for job in plan.batch.engagements if row_text(ENGAGEMENTS, job) not in there]
    if not new:
        return replace(plan, notes=tuple(notes))
    given = _Given.of(sheets, written)
    dropped: set[Engagement] = set()
    rows: list[RowCorrection] = []
    changes: list[ListChange] = []
    for job in new:
        key = row_text(ENGAGEMENTS, job)
        place = given.places.get(key)
        correction = _corrected_to(key, corrections, there)
        if correction is not None:
            dropped.add(job)
            what = f"was corrected to '{correction.instead}' ({correction.why}): it stays so"
            notes.append(Finding(what, "Correct the sheet too.", place, "engagement", key))
            continue
        before = _before(job, new, written, given)
        if before is None:
            continue
        old = row_text(ENGAGEMENTS, before)
        if likeness(fold_words(before.job_title), fold_words(job.job_title)) >= LEAST_ALIKE:
            dropped.add(job)
            file = place.file if place is not None else ENGAGEMENTS.name
            rows.append(
                RowCorrection(
                    table=ENGAGEMENTS.name, row=before, instead=job, why=f"Corrected in {file}."
                )
            )
            columns = {
                c.name: (plain_cell(getattr(before, c.field)), plain_cell(getattr(job, c.field)))
                for c in ENGAGEMENTS.columns
                if getattr(before, c.field) != getattr(job, c.field)
            }
            changes.append(
                ListChange(
                    table=ENGAGEMENTS.name, key=old, place=place or Place(file), columns=columns
                )
            )
        else:
            what = f"stands beside '{before.job_title}' of the same day, which the sheet has not"
            hint = f"If that is void: credits correct engagements {job.person} --void --why TEXT."
            notes.append(Finding(what, hint, place, "engagement", key))
    batch = replace(
        plan.batch,
        engagements=tuple(job for job in plan.batch.engagements if job not in dropped),
        corrections=(*plan.batch.corrections, *rows),
    )
    count = plan.counts[ENGAGEMENTS.name]
    count = replace(
        count,
        new=count.new - len(dropped),
        changed=count.changed + len(rows),
        same=count.same + len(dropped) - len(rows),
    )
    return replace(
        plan,
        batch=batch,
        counts={**plan.counts, ENGAGEMENTS.name: count},
        notes=tuple(notes),
        lists=(*plan.lists, *changes),
    )


def _corrected_to(
    key: str, corrections: Sequence[ListCorrection], there: set[str]
) -> ListCorrection | None:
    """Return the last correction of a row, where what took its place is there still."""
    own = [each for each in corrections if each.table == ENGAGEMENTS.name and each.row == key]
    last = own[-1] if own else None
    if last is None or last.instead is None or last.instead == key:
        return None
    if last.instead in there:
        return last
    after = corrections[corrections.index(last) + 1 :]
    return _corrected_to(last.instead, after, there)


def _before(
    job: Engagement, new: Sequence[Engagement], written: WrittenLog, given: _Given
) -> Engagement | None:
    """Return the one engagement of the log that a new one may be the correction of."""

    def is_like(other: Engagement) -> bool:
        return (other.person, fold_words(other.department), other.starts_on) == (
            job.person,
            fold_words(job.department),
            job.starts_on,
        )

    gone = [
        other
        for other in written.engagements
        if is_like(other) and row_text(ENGAGEMENTS, other) not in given.places
    ]
    return gone[0] if len(gone) == 1 and len(list(filter(is_like, new))) == 1 else None


def _back_again(
    plan: LoadPlan, written: WrittenLog, corrections: Sequence[ListCorrection]
) -> Iterator[Finding]:
    """Tell the rows that were voided and are loaded again."""
    last: dict[str, dict[str, ListCorrection]] = defaultdict(dict)
    for each in corrections:
        last[each.table][each.row] = each
    for name in REFERENCE_TABLES:
        if not last[name]:
            continue
        table = TABLES[name]
        there = {row_text(table, row) for row in getattr(written, name)}
        for row in getattr(plan.batch, name):
            key = row_text(table, row)
            voided = last[name].get(key)
            if key not in there and voided is not None and voided.instead is None:
                on = voided.written_at.date()
                what = f"was voided on {on} ({voided.why}), and is loaded again"
                hint = "If it is void still, take it out of the sheet and void it again."
                yield Finding(what, hint, None, table.one, key)
