"""Small productions that nobody chose: a whole log at a time, with everything a log may hold.

They are small so that a disagreement is small, and crowded so that people meet: three shots of a
few frames, three days, three takes, a handful of puppets that share parts.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from math import ceil
from typing import Any

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from credits.model import facts
from credits.model.facts import BUILT_IN_CRAFTS
from credits.model.log import LogLine, Verb, WrittenLog
from credits.units.film_time import FrameRate, Gauge
from credits.units.frames import Frames
from tests.drawn import FULL

PEOPLE = ("ana", "ben", "cai", "dov")
CHARACTERS = ("wick", "brine", "tansy")
PUPPETS = ("puppet-1", "puppet-2", "puppet-3", "puppet-4")
PARTS = ("part-1", "part-2", "part-3", "part-4", "part-5")
SEQUENCES = ("010", "020")
SHOTS = ("010-010", "010-020", "020-010")
STAGES = ("S1", "S2")
TAKES = (1, 2, 3)
DAYS = tuple(date(2026, 3, day) for day in (2, 3, 4))
SHARES = tuple(Fraction(share) for share in ("1", "2", "1/2", "3", "2/3"))
SPEEDS = tuple(Fraction(speed) for speed in ("1", "2", "1/2", "3/2", "-1", "-2", "0", "1001/1000"))
EARLIEST = datetime(2026, 3, 6, tzinfo=UTC)

# A second craft that claims frames, beside the built-in ones: a person may claim by both.
HAND_ANIMATION = facts.Craft(
    code="hand-animation",
    name="Hand animation",
    department="Animation",
    kind=facts.Kind.PERFORMANCE,
    footage=True,
)
CRAFTS = (*BUILT_IN_CRAFTS, HAND_ANIMATION)
CLAIMING = ("animation", "animation", "animation", "hand-animation")
OTHER_CRAFTS = tuple(craft.code for craft in CRAFTS if not craft.footage)

PRODUCTION = facts.Production(
    title="The Small Film",
    code="small",
    rate=FrameRate.parse("24"),
    gauge=Gauge.parse("35mm-4perf"),
    day_minutes=600,
)
HEADINGS = (None, None, "Lead animators", "Animation", "With")


def or_none(values: tuple[object, ...]) -> st.SearchStrategy[object]:
    """One of the values, or none of them: a cell that may be left empty."""
    return st.none() | st.sampled_from(values)


@st.composite
def frame_sets(draw: st.DrawFn, highest: int) -> Frames:
    """A few ranges of frames from 1 to ``highest``; never empty."""
    ranges = []
    for _ in range(draw(st.integers(1, 3))):
        first = draw(st.integers(1, highest))
        ranges.append((first, draw(st.integers(first, highest)) + 1))
    return Frames.of(*ranges)


@st.composite
def cast(draw: st.DrawFn) -> dict[str, Any]:
    """People, their engagements, characters, puppets, parts and fittings."""
    people = PEOPLE[: draw(st.sampled_from((3, 2, 4, 1)))]
    characters = CHARACTERS[: draw(st.sampled_from((2, 2, 1, 3)))]
    puppets = PUPPETS[: draw(st.sampled_from((3, 2, 4, 1)))]
    parts = PARTS[: draw(st.sampled_from((3, 2, 4, 5, 1, 0)))]
    character, person = st.sampled_from(characters), st.sampled_from(people)
    or_any, or_a_day = st.none() | character, or_none(DAYS[1:2])
    same_as = st.one_of(st.none(), st.none(), st.none(), person)
    wish = st.sampled_from([facts.CreditWish.CREDITED] * 3 + [facts.CreditWish.UNCREDITED])
    jobs = st.builds(
        facts.Engagement,
        person=person,
        department=st.sampled_from(["Animation", "animation ", "Art", "Production"]),
        job_title=st.sampled_from(["Animator", "Runner"]),
        starts_on=or_none((DAYS[1],)),
        guaranteed_heading=st.sampled_from(HEADINGS),
        billing_number=or_none((1, 2)),
    )
    fitted = st.builds(
        facts.Fitting,
        part=st.sampled_from(parts or ("",)),
        puppet=st.sampled_from(puppets),
        from_on=st.sampled_from(DAYS),
        to_on=or_none(DAYS),
    )
    return {
        "people": tuple(
            facts.Person(
                code=code, credit_name=code.capitalize(), same_as=draw(same_as), wish=draw(wish)
            )
            for code in people
        ),
        "engagements": tuple(draw(st.lists(jobs, max_size=3))),
        "characters": tuple(
            facts.Character(code=code, name=code.capitalize()) for code in characters
        ),
        "puppets": tuple(
            facts.Puppet(
                code=code,
                character=draw(character),
                ready_on=draw(or_a_day),
                retired_on=draw(or_a_day),
            )
            for code in puppets
        ),
        "parts": tuple(
            facts.Part(code=code, kind="face", character=draw(or_any)) for code in parts
        ),
        "fittings": tuple(draw(st.lists(fitted, max_size=5))) if parts else (),
    }


@st.composite
def stages_and_shots(draw: st.DrawFn) -> dict[str, Any]:
    """Sequences, shots, takes and stages."""
    shots = SHOTS[: draw(st.integers(1, len(SHOTS)))]
    taken = st.sets(st.tuples(st.sampled_from(shots), st.sampled_from(TAKES)), max_size=6)
    purposes = st.sampled_from([*[facts.Purpose.SHOOT] * 4, *facts.Purpose])
    lengths, statuses = st.integers(4, 24), st.sampled_from(facts.ShotStatus)
    decisions, days = st.sampled_from(list(facts.Decision)), st.none() | st.sampled_from(DAYS)
    return {
        "sequences": tuple(facts.Sequence(code) for code in SEQUENCES),
        "shots": tuple(
            facts.Shot(
                code=code,
                sequence=code[:3],
                length=draw(lengths),
                status=draw(statuses),
            )
            for code in shots
        ),
        "stages": tuple(facts.Stage(code) for code in STAGES),
        "takes": tuple(
            facts.Take(
                shot=shot,
                number=number,
                purpose=draw(purposes),
                decision=draw(decisions),
                decided_on=draw(days),
            )
            for shot, number in sorted(draw(taken))
        ),
    }


@st.composite
def targets(draw: st.DrawFn, log: WrittenLog) -> dict[str, str]:
    """What was worked on: a character, a puppet, a part, or several of them, at odds or not."""
    named = draw(st.sampled_from(["character", "puppet", "part", "part", "all"]))
    target: dict[str, str] = {}
    if named in ("character", "all"):
        target["character"] = draw(st.sampled_from(log.characters)).code
    if named in ("puppet", "all"):
        target["puppet"] = draw(st.sampled_from(log.puppets)).code
    if named in ("part", "all") and log.parts:
        target["part"] = draw(st.sampled_from(log.parts)).code
    return target


@st.composite
def shot_places(draw: st.DrawFn, log: WrittenLog) -> dict[str, object]:
    """A shot, crowded towards the first, with a take and frames or without."""
    shot = draw(st.sampled_from((log.shots[0], log.shots[0], *log.shots)))
    return {
        "shot": shot.code,
        "take": draw(st.sampled_from((None, 1, 1, 2, 3))),
        "frames": draw(st.none() | frame_sets(shot.length + 3)),
    }


def works(log: WrittenLog) -> st.SearchStrategy[facts.Work]:
    """What one entry says: claims, most of them where others claim too, and work of every craft."""
    nowhere: st.SearchStrategy[dict[str, object]] = st.just({})
    sequences = st.fixed_dictionaries({"sequence": st.sampled_from(SEQUENCES)})
    in_shots = shot_places(log)
    said = st.fixed_dictionaries(
        {
            "person": st.sampled_from([person.code for person in log.people]),
            "share": st.sampled_from((None, None, *SHARES)),
            "started_on": st.sampled_from((None, *DAYS)),
            "finished_on": st.sampled_from((None, *DAYS)),
            "stage": st.sampled_from((None, *STAGES)),
            "minutes": st.sampled_from((None, None, 300, 700, 1300)),
        }
    )

    def work(craft: str, *given: dict[str, object]) -> facts.Work:
        return facts.Work(craft=craft, **{k: v for own in given for k, v in own.items()})  # type: ignore[arg-type]

    claims = st.builds(work, st.sampled_from(CLAIMING), said, targets(log), in_shots)
    meetings = st.builds(
        facts.Work,
        craft=st.sampled_from(CLAIMING),
        person=st.sampled_from([person.code for person in log.people]),
        character=st.sampled_from([character.code for character in log.characters[:2]]),
        puppet=st.sampled_from((None, *(puppet.code for puppet in log.puppets))),
        shot=st.just(log.shots[0].code),
        frames=st.none() | frame_sets(log.shots[0].length),
        share=st.sampled_from((None, *SHARES)),
        finished_on=st.sampled_from((DAYS[0], DAYS[0], DAYS[1], None)),
    )
    others = st.builds(
        work,
        st.sampled_from((*OTHER_CRAFTS, *CLAIMING)),
        said,
        targets(log),
        st.one_of(nowhere, sequences, in_shots),
    )
    return st.one_of(meetings, meetings, claims, others)


@st.composite
def log_lines(draw: st.DrawFn, log: WrittenLog) -> tuple[LogLine, ...]:
    """Records of one or two logs, then corrections of any line: chains, forks, voids of voids."""
    lines: list[LogLine] = []
    verbs = [Verb.RECORD] * draw(st.sampled_from((6, 5, 4, 3, 0, 7, 8, 9, 10, 12, 14)))
    verbs += draw(st.lists(st.sampled_from([Verb.AMEND, Verb.AMEND, Verb.VOID]), max_size=6))
    minutes = st.integers(0, 6)  # the order of numbers need not be that of the clock; it may tie
    said, origins = works(log), st.sampled_from("AAAB")
    for place, verb in enumerate(verbs, 1):
        if verb is not Verb.RECORD and not lines:
            continue
        origin = draw(origins)
        lines.append(
            LogLine(
                number=facts.EntryNumber(origin, place),
                verb=verb,
                logged_at=EARLIEST + timedelta(minutes=draw(minutes)),
                work=None if verb is Verb.VOID else draw(said),
                corrects=None if verb is Verb.RECORD else draw(st.sampled_from(lines)).number,
            )
        )
    return tuple(lines)


@st.composite
def cuts(draw: st.DrawFn, shots: tuple[facts.Shot, ...]) -> facts.Cut:
    """A cut of a few clips with gaps, reprises, holds, speed changes and shots nobody knows."""
    clips: list[facts.CutClip] = []
    at = 1
    elsewhere = facts.Shot(code="elsewhere", sequence="010", length=12)
    shown_shots, speeds = st.sampled_from((*shots, *shots, elsewhere)), st.sampled_from(SPEEDS)
    gaps, takes = st.sampled_from([0, 0, 3]), st.sampled_from([None, None, 1, 2, 3])
    for order in range(1, draw(st.sampled_from((0, 1, 2, 3, 4, 5, 6))) + 1):
        shot = draw(shown_shots)
        first = draw(st.integers(1, shot.length))
        last = draw(st.integers(first, shot.length + 2))
        speed = draw(speeds)
        natural = ceil((last - first + 1) / (abs(speed) or 1))
        shown = draw(st.just(natural) | st.integers(1, 8))
        at += draw(gaps)
        take = draw(takes)
        clips.append(
            facts.CutClip(
                order=order,
                film_first=at,
                shown=shown,
                shot=shot.code,
                take=take,
                source_first=first,
                source_last=last,
                speed=speed,
            )
        )
        at += shown
    return facts.Cut(version=4, source="cut.csv", length=at - 1, clips=tuple(clips))


@st.composite
def _any_production(draw: st.DrawFn) -> WrittenLog:
    """A small production: the tables, the lines of the log, and a cut or none."""
    bare = WrittenLog(
        production=PRODUCTION, crafts=CRAFTS, **draw(cast()), **draw(stages_and_shots())
    )
    shown = st.builds(
        facts.Replacement,
        shot=st.sampled_from([shot.code for shot in bare.shots]),
        take=or_none((1, 2)),
        character=st.sampled_from([character.code for character in bare.characters]),
        part=st.sampled_from([part.code for part in bare.parts] or [""]),
        frames=frame_sets(24),
    )
    replacements = tuple(draw(st.lists(shown, max_size=4))) if bare.parts else ()
    lines = draw(log_lines(bare))
    cut = draw(st.one_of(cuts(bare.shots), cuts(bare.shots), st.none()))
    return replace(bare, replacements=replacements, lines=lines, cut=cut)


def _drawn_once() -> tuple[WrittenLog, ...]:
    """A few productions, the same each time."""
    made: list[WrittenLog] = []

    @settings(max_examples=PRODUCTIONS, derandomize=True, deadline=None, phases=[Phase.generate])
    @given(log=_any_production())
    def keep(log: WrittenLog) -> None:
        made.append(log)

    keep()
    return tuple(made)


PRODUCTIONS = 100
_KEPT = () if FULL else _drawn_once()


def kept(place: int) -> WrittenLog:
    """One of the productions that are drawn once."""
    return _KEPT[place]


def productions() -> st.SearchStrategy[WrittenLog]:
    """A small production. Drawing one takes longer than most laws: all laws share a few of them,
    of which each meets its own; with ``LAWS=full`` every one is new."""
    if FULL:
        return _any_production()
    return st.integers(0, len(_KEPT) - 1).map(kept)
