"""Footage by person as one SQL query over frames written out: an independent second way, in DuckDB.

It is written from the rules of how footage is counted, frame by frame, and shares no code with the
product. The laws hold both to each other; the benchmark measures what it takes as a process of its
own, from tables that are in the database already.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from fractions import Fraction

import duckdb

FIGURES = """
WITH RECURSIVE
-- Codes that are one person: to the end of same_as, or to the first code of a circle.
walk AS (
  SELECT person, person AS at, [person] AS path FROM people
  UNION ALL
  SELECT walk.person, people.same_as, list_append(walk.path, people.same_as)
  FROM walk JOIN people ON people.person = walk.at
  WHERE people.same_as IS NOT NULL AND NOT list_contains(walk.path, people.same_as)
),
one_person AS (
  SELECT walk.person, CASE
    WHEN people.same_as IS NULL THEN walk.at
    ELSE list_min(walk.path[list_position(walk.path, people.same_as):])
  END AS one
  FROM walk JOIN people ON people.person = walk.at
  WHERE people.same_as IS NULL OR list_contains(walk.path, people.same_as)
),
-- The lines that count: of corrections that do not know of each other, the last amendment that
-- was not itself voided; a void always counts.
corrected AS (SELECT DISTINCT corrects AS line FROM lines WHERE corrects IS NOT NULL),
voided AS (SELECT DISTINCT corrects AS line FROM lines WHERE verb = 'void'),
standing AS (
  SELECT line FROM lines WHERE verb = 'amend' AND line NOT IN (FROM corrected)
  UNION
  SELECT lines.corrects FROM standing JOIN lines USING (line)
  WHERE lines.corrects IS NOT NULL AND lines.corrects NOT IN (FROM voided)
),
followed AS (
  SELECT corrects AS line, arg_max(line, (logged_at, line)) AS by
  FROM lines JOIN standing USING (line)
  WHERE verb = 'amend' AND corrects IN (FROM standing)
  GROUP BY corrects
),
chain AS (
  SELECT line FROM standing JOIN lines USING (line) WHERE verb = 'record'
  UNION ALL
  SELECT followed.by FROM chain JOIN followed USING (line)
),
current_lines AS (
  SELECT line FROM lines WHERE verb = 'record' AND line NOT IN (FROM corrected)
  UNION ALL
  SELECT line FROM chain WHERE line NOT IN (SELECT line FROM followed)
),
-- Claims, and their frames written out.
claims AS (
  SELECT
    line, lines.shot, coalesce(lines.take, 1) AS take, lines.whole, lines.share,
    coalesce(lines.character, puppets.character, parts.character) AS character,
    one_person.one AS person, coalesce(lines.day, DATE '0001-01-01') AS day
  FROM lines
  JOIN current_lines USING (line)
  JOIN crafts ON crafts.craft = lines.craft AND crafts.footage
  JOIN one_person ON one_person.person = lines.person
  LEFT JOIN puppets ON puppets.puppet = lines.puppet
  LEFT JOIN parts ON parts.part = lines.part
  LEFT JOIN takes ON takes.shot = lines.shot AND takes.take = coalesce(lines.take, 1)
  WHERE lines.shot IS NOT NULL AND coalesce(takes.purpose, 'shoot') = 'shoot'
    AND coalesce(lines.character, puppets.character, parts.character) IS NOT NULL
),
claimed AS (
  SELECT claims.*, unnest(range(ranges.first, ranges.stop))::INTEGER AS frame
  FROM claims JOIN ranges USING (line)
  UNION ALL
  SELECT claims.*, unnest(range(1, shots.length + 1))::INTEGER
  FROM claims JOIN shots USING (shot) WHERE claims.whole
),
-- Each frame of a character on a day is divided by shares; on the day, and where it is kept, it is
-- divided among the characters.
portions AS MATERIALIZED (
  SELECT shot, take, frame, character, day, person, max(share) AS share
  FROM claimed GROUP BY ALL
),
layers AS MATERIALIZED (
  SELECT shot, take, frame, character, day, sum(share)::BIGINT AS shares
  FROM portions GROUP BY ALL
),
days AS (
  SELECT shot, take, frame, day, count(*) AS characters FROM layers GROUP BY ALL
),
kept AS MATERIALIZED (
  SELECT shot, take, frame, character, max(day) AS day FROM layers GROUP BY ALL
),
kept_frames AS (
  SELECT shot, take, frame, count(*) AS characters FROM kept GROUP BY ALL
),
-- The cut: the take that each clip means, and its frames written out.
accepted AS (
  SELECT shot, take FROM takes WHERE purpose = 'shoot' AND decision = 'accepted'
),
chosen AS (
  SELECT shot, arg_max(take, (coalesce(decided_on, DATE '0001-01-01'), take)) AS take
  FROM takes SEMI JOIN accepted USING (shot, take) GROUP BY shot
  UNION ALL
  SELECT shot, max(take) FROM kept_frames WHERE shot NOT IN (SELECT shot FROM accepted)
  GROUP BY shot
),
film AS (
  SELECT shot, coalesce(clips.take, chosen.take) AS take, numerator, denominator,
    source_first, source_last, unnest(range(shown)) AS step
  FROM clips LEFT JOIN chosen USING (shot)
),
screen AS (
  SELECT shot, take, CASE
    WHEN numerator < 0 THEN source_last - (step * -numerator) // denominator
    ELSE source_first + (step * numerator) // denominator
  END AS frame, count(*) AS times
  FROM film GROUP BY ALL
),
-- Whole numerators over the denominators of the group.
counted AS (
  SELECT
    portions.person, layers.shares, days.characters AS on_day, kept_frames.characters AS on_kept,
    sum(share) AS shot,
    sum(share) FILTER (kept.day IS NOT NULL) AS kept,
    sum(share) FILTER (kept.day IS NOT NULL AND accepted.take IS NOT NULL) AS accepted,
    sum(share) FILTER (kept.day IS NOT NULL AND screen.times IS NOT NULL) AS cut,
    sum(share * screen.times) FILTER (kept.day IS NOT NULL) AS screen
  FROM portions
  JOIN layers USING (shot, take, frame, character, day)
  JOIN days USING (shot, take, frame, day)
  LEFT JOIN kept USING (shot, take, frame, character, day)
  LEFT JOIN kept_frames USING (shot, take, frame)
  LEFT JOIN screen USING (shot, take, frame)
  LEFT JOIN (
    SELECT shot, take FROM takes WHERE decision = 'accepted'
  ) AS accepted USING (shot, take)
  GROUP BY ALL
)
"""

MEASURES = ("shot", "kept", "accepted", "cut", "screen")

EXACTLY = f"""{FIGURES}
SELECT code, shares, on_day, on_kept, {", ".join(f"coalesce({m}, 0)::BIGINT" for m in MEASURES)}
FROM counted JOIN people USING (person)
"""

AS_PRINTED = f"""{FIGURES}
SELECT code,
  {", ".join(f"coalesce(sum({m} / shares), 0) AS {m}_by_character" for m in MEASURES)},
  sum(shot / shares / on_day) AS shot,
  {", ".join(f"coalesce(sum({m} / shares / on_kept), 0) AS {m}" for m in MEASURES[1:])}
FROM counted JOIN people USING (person) GROUP BY code ORDER BY code
"""

Totals = dict[str, tuple[Fraction, ...]]
"""By person: the five measures of character footage, then those of shot footage."""


def footage_by_person(database: duckdb.DuckDBPyConnection) -> Totals:
    """Return the exact footage of everybody who has any, from tables that are filled."""
    found: dict[str, list[Fraction]] = defaultdict(lambda: [Fraction(0)] * 10)
    for code, shares, on_day, on_kept, *numerators in database.execute(EXACTLY).fetchall():
        for place, numerator in enumerate(numerators):
            among = on_kept if place else on_day
            found[code][place] += Fraction(numerator, shares)
            found[code][place + 5] += Fraction(numerator, shares * among)
    return {code: tuple(values) for code, values in found.items()}


def main() -> None:
    """Print the footage of everybody: DATABASE."""
    with duckdb.connect(sys.argv[1], read_only=True) as database:
        for row in database.execute(AS_PRINTED).fetchall():
            print(*row)


if __name__ == "__main__":
    main()
