"""A production as of one read of its log, with every figure that is computed from it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date
from functools import cached_property
from hashlib import sha256
from importlib import import_module
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

from credits.billing.plan import BUILT_IN, CreditPlan, built_in_plan
from credits.checks.answers import Settled, open_and_settled
from credits.checks.rule import Check, Known, find_checks
from credits.figures.keep import kept_footage
from credits.figures.kept_claims import (
    frames_claimed,
    handled_by_puppet,
    kept_animated,
    kept_handled,
    kept_poses,
    kept_runs,
)
from credits.figures.kept_hands import HandsIn, kept_hands_in, kept_reach, kept_ways
from credits.figures.lookups import EntryLookup, kept_ledger, ledger_in_brief
from credits.figures.renewal import Depth
from credits.footage.claims import Animated, Handled, TakeRuns, animated_in, claim_runs, handled_in
from credits.footage.cut import (
    CutUse,
    KeptFrames,
    chosen_takes,
    kept_frames,
    order_of_appearance,
    use_of_cut,
)
from credits.footage.footage import Footage, footage
from credits.footage.how_far import HowFar, how_far
from credits.footage.remaining import wanted_frames
from credits.hands.hands import Hands
from credits.hands.reach import Reach, reach
from credits.hands.ways import PersonWays, Ways
from credits.memory import all_kept
from credits.model.facts import EntryNumber
from credits.model.ledger import Entry, Ledger
from credits.model.log import WrittenLog
from credits.model.replay import grouped
from credits.review.days import Poses, poses, poses_on
from credits.review.hospital import is_open, repair_crafts, repair_entries
from credits.store.beside.kept import FiguresFile
from credits.text import fold_code

if TYPE_CHECKING:  # most questions are neither about the credits nor about what checks find
    from credits.billing.credits import Credits
    from credits.figures.cases import NewFilmCases


class Places(NamedTuple):
    """The place of each code in its table."""

    characters: Mapping[str, int]
    puppets: Mapping[str, int]
    parts: Mapping[str, int]
    shots: Mapping[str, int]
    crafts: Mapping[str, int]


class Snapshot:
    """The figures of one state of a production.

    Each is computed when it is first asked for, and kept: a command pays for what it shows.

    plan: the credit plan; None: the built-in one.
    plan_text: the text that the plan was read from; for the built-in one its name.
    written: the log that the ledger was made from; None where only a ledger is at hand.
    episode: whose ledger it is; empty: that of the whole film.
    """

    def __init__(
        self,
        ledger: Ledger,
        plan: CreditPlan | None = None,
        *,
        plan_text: str = BUILT_IN,
        written: WrittenLog | None = None,
        episode: str = "",
    ) -> None:
        self.is_held = True
        """Whether nothing is read any more, but for what is computed."""
        self.ledger = ledger
        self.plan_text = plan_text
        self.written = written
        self.episode = episode
        self._plan = plan

    @cached_property
    def plan(self) -> CreditPlan:
        """The credit plan by which the credits are compiled."""
        return self._plan or built_in_plan(self.ledger)

    @cached_property
    def places(self) -> Places:
        """The order of the tables."""
        tables = (getattr(self.ledger, name) for name in Places._fields)
        return Places(*({code: at for at, code in enumerate(table)} for table in tables))

    @cached_property
    def runs(self) -> Mapping[tuple[str, int], TakeRuns]:
        """Who claims which frames, by shot and take."""
        return claim_runs(self.ledger)

    @cached_property
    def use(self) -> CutUse | None:
        """What the cut in use shows of each take; None: there is no cut."""
        return use_of_cut(self.ledger, self.runs)

    @cached_property
    def takes(self) -> Mapping[str, int]:
        """The take that each shot means."""
        return chosen_takes(self.ledger, self.runs)

    @cached_property
    def poses(self) -> Sequence[Poses]:
        """How many poses everybody's kept frames hold."""
        return tuple(poses(self.ledger, self.runs, poses_on(self.ledger)))

    @cached_property
    def footage(self) -> Footage:
        """The footage of the whole production."""
        return footage(self.ledger, self.runs, self.use)

    @cached_property
    def footage_by_character(self) -> Mapping[str, Footage]:
        """The footage of each character."""
        return self.footage.parted(lambda cell: cell.character)

    @cached_property
    def footage_by_person(self) -> Mapping[str, Footage]:
        """The footage of each person."""
        return self.footage.parted(lambda cell: cell.person)

    def footage_of_person(self, person: str) -> Footage | None:
        """Return the footage of one person; None: they have none."""
        return self.footage_by_person.get(person)

    @cached_property
    def footage_by_shot(self) -> Mapping[str, Footage]:
        """The footage of each shot."""
        return self.footage.parted(lambda cell: cell.shot)

    def footage_of_shot(self, shot: str) -> Footage:
        """Return the footage of one shot."""
        return self.footage_by_shot[shot]

    @cached_property
    def animated(self) -> Mapping[str, Sequence[Animated]]:
        """The kept frames that each person animated, in any order."""
        return grouped(self._animated(), lambda each: each.person)

    def _animated(self) -> Iterable[Animated]:
        return (each for own in self.runs.values() for each in animated_in(self.ledger, own))

    @cached_property
    def handled(self) -> Mapping[str, Sequence[Handled]]:
        """The kept frames in which each puppet is seen, in any order."""
        return grouped(self._handled(), lambda each: each.puppet)

    def _handled(self) -> Iterable[Handled]:
        return (each for own in self.runs.values() for each in handled_in(own))

    @cached_property
    def hands(self) -> Hands:
        """Everybody whose work is in a take, by way of what, in which frames."""
        return Hands(self.ledger, self.runs)

    @cached_property
    def _reached(self) -> tuple[Mapping[str, Reach], Ways]:
        return reach(self.ledger, self.runs, self.use, self.hands)

    @cached_property
    def reach(self) -> Mapping[str, Reach]:
        """How much of the film each person's hands are in."""
        return self._reached[0]

    @cached_property
    def ways(self) -> Ways:
        """By which ways each person's hands are in the film."""
        return self._reached[1]

    def reach_of(self, person: str) -> Reach | None:
        """Return how much of the film a person's hands are in; None: they are in none of it."""
        return self.reach.get(person)

    def ways_of(self, person: str) -> PersonWays:
        """Return by which ways a person's hands are in the film."""
        return self.ways.of(person)

    def expect_people(self, people: Collection[str]) -> None:
        """Say of whom reach and ways will be asked for."""

    @cached_property
    def hands_on(self) -> Mapping[str, int]:
        """How many people have their hands on each character in the film."""
        return Counter(chain.from_iterable(own.characters for own in self.reach.values()))

    @cached_property
    def reached(self) -> Collection[str]:
        """Everybody whose hands are in the film."""
        return self.reach.keys()

    @cached_property
    def first_seen(self) -> tuple[tuple[str, int], ...]:
        """The characters with film frames, in the order in which they appear."""
        return order_of_appearance(self.use, self.kept_in(self.use))

    def kept_in(self, use: CutUse | None) -> Iterable[KeptFrames]:
        """Find the frames of every character in the takes that a cut uses; perhaps in others."""
        return self.kept_of(use.clips_of if use is not None else ())

    def kept_of(self, takes: Collection[tuple[str, int]]) -> Iterable[KeptFrames]:  # noqa: ARG002
        """Find the frames of every character in some takes; perhaps in others."""
        return kept_frames(self.runs)

    @cached_property
    def how_far(self) -> HowFar:
        """How far the film is."""
        wanted = wanted_frames(self.ledger, self.use, self.takes)
        return how_far(self.ledger, self.use, wanted, self.kept_of(wanted))

    @cached_property
    def open_repairs(self) -> tuple[Entry, ...]:
        """The repairs that are asked for or begun, and not finished, by number."""
        return tuple(filter(is_open, repair_entries(self.ledger)))

    @cached_property
    def credits(self) -> Credits:
        """The end credits by the plan."""
        return self.credits_by(self.plan)

    def credits_by(self, plan: CreditPlan) -> Credits:
        """Return the end credits by another plan."""
        with all_kept():
            appearance = tuple(character for character, _ in self.first_seen)
            compiler = import_module("credits.billing.compile")
            made: Credits = compiler.compile_credits(
                self.ledger, plan, appearance, self.footage, self.episode
            )
            return made

    @cached_property
    def former_names(self) -> Mapping[str, tuple[str, ...]]:
        """The names that people were credited by before, and the last that each was asked about.

        By the code that they are known by, each once, the first one first.
        """
        found: dict[str, dict[str, None]] = defaultdict(dict)
        known = {fold_code(code): one for code, one in self.ledger.one_person.items()}
        for code, name in self._renamed():
            if (person := known.get(fold_code(code))) is not None:
                found[person][name] = None
        for code, word in self.ledger.confirmations.items():
            found[code][word.name] = None
        people = self.ledger.people
        for code, names in found.items():
            names.pop(people[code].credit_name, None)
        return {code: tuple(names) for code, names in found.items() if names}

    def _renamed(self) -> Iterable[tuple[str, str]]:
        """Give the names that rows of the people table had before, each with its code."""
        return ()

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Everything that the checks find, answered or not."""
        return find_checks(self._known, import_module("credits.checks.checks").CHECKS)

    def keep_checks(self) -> None:
        """Keep what the checks found, where figures are kept; the last that is asked of them."""

    def checks_near(self, day: date, numbers: Collection[EntryNumber]) -> tuple[Check, ...]:
        """Everything found that is about a day or rests on one of some entries; and maybe more."""
        named, wanted = ("date", day.isoformat()), frozenset(numbers)
        return tuple(
            c for c in self.checks if named in c.subjects or not wanted.isdisjoint(c.entries)
        )

    def checks_like(self, some: Sequence[Check]) -> tuple[Check, ...]:
        """Everything found that may be called as one of some checks is; and maybe more."""
        kinds = {check.kind for check in some}
        return tuple(check for check in self.checks if check.kind in kinds)

    @property
    def _known(self) -> Known:
        return Known(ledger=self.ledger, runs=self.runs, use=self.use, credits=self.credits)

    @cached_property
    def _parted_checks(self) -> tuple[tuple[Check, ...], tuple[Settled, ...]]:
        return open_and_settled(self.checks, self.ledger)

    @property
    def open_checks(self) -> tuple[Check, ...]:
        """The checks that are wrong or wait for an answer."""
        return self._parted_checks[0]

    @property
    def settled(self) -> tuple[Settled, ...]:
        """The checks that were answered, with their answers."""
        return self._parted_checks[1]


class KeptSnapshot(Snapshot):
    """The figures of a production as they are kept, and whatever else is computed of its log.

    file: open and renewed as far as ``depth``; it is closed when nobody has the snapshot any more.
    whole: everything is read at once, of entries the work alone.
    """

    def __init__(
        self,
        file: FiguresFile,
        depth: Depth,
        plan_of: Callable[[Ledger], tuple[CreditPlan | None, str]],
        *,
        whole: bool = False,
    ) -> None:
        self._lookup = EntryLookup(file, at_once=whole, work_alone=whole)
        ledger = kept_ledger(file, whole=whole, lookup=self._lookup)
        plan, text = plan_of(ledger)
        super().__init__(ledger, plan, plan_text=text)
        self._file = file
        self._depth = depth
        self._new_cases: NewFilmCases | None = None
        self._expected: Collection[str] = ()
        self.is_held = whole
        if whole:
            self._hold()

    def _hold(self) -> None:
        """Read what would be read when it is asked for."""
        own: list[object] = [self.takes, self.use, self.footage.cells]
        own += [self.ways, self.animated, self.handled]
        own += [reach.in_shots[:0] for reach in self.reach.values()]
        own.append(self.former_names)
        if Depth.FOOTAGE in self._depth:
            own.append(self._claimed)
        if Depth.CHECKS in self._depth:
            own += [self.checks, self.poses]
        assert own

    @cached_property
    def runs(self) -> Mapping[tuple[str, int], TakeRuns]:
        """Who claims which frames, by shot and take."""
        if Depth.FOOTAGE not in self._depth:
            return super().runs
        return kept_runs(self._file, self.ledger)

    @cached_property
    def hands(self) -> Hands:
        """Everybody whose work is in a take, by way of what, in which frames."""
        # Hands are made of what is kept of an entry, which is quicker read than all it says.
        ledger = self.ledger if self.is_held else ledger_in_brief(self._file, self._lookup)
        return Hands(ledger, self.runs)

    @cached_property
    def footage(self) -> Footage:
        """The footage of the whole production."""
        if Depth.FOOTAGE not in self._depth:
            return super().footage
        kept = kept_footage(self._file, self.ledger)
        return Footage(tuple(kept.cells), kept.cut) if self.is_held else kept

    def footage_of_shot(self, shot: str) -> Footage:
        """Return the footage of one shot."""
        # Who looks at one shot alone does not read the cells of all.
        is_parted = self.is_held or "footage_by_shot" in self.__dict__
        return super().footage_of_shot(shot) if is_parted else self.footage.of_shot(shot)

    def footage_of_person(self, person: str) -> Footage | None:
        """Return the footage of one person; None: they have none."""
        if self.is_held or "footage_by_person" in self.__dict__:
            return super().footage_of_person(person)
        own = self.footage.of_person(person)
        return own if own.cells else None

    @cached_property
    def poses(self) -> Sequence[Poses]:
        """How many poses everybody's kept frames hold."""
        if Depth.FOOTAGE not in self._depth:
            return super().poses
        return kept_poses(self._file)

    def kept_of(self, takes: Collection[tuple[str, int]]) -> Iterable[KeptFrames]:
        """Find the frames of every character in some takes; perhaps in others."""
        if Depth.FOOTAGE not in self._depth:
            return super().kept_of(takes)
        if self.is_held:
            return self._claimed
        return frames_claimed(self._file, takes)

    @cached_property
    def _claimed(self) -> tuple[KeptFrames, ...]:
        """The frames of every character in every take."""
        return tuple(frames_claimed(self._file, self._file.claimed_takes()))

    @cached_property
    def open_repairs(self) -> tuple[Entry, ...]:
        """The repairs that are asked for or begun, and not finished, by number."""
        if self.is_held:
            return super().open_repairs
        found = filter(is_open, self._lookup.unfinished(repair_crafts(self.ledger)))
        return tuple(sorted(found, key=lambda entry: entry.number))

    def _animated(self) -> Iterable[Animated]:
        if Depth.FOOTAGE not in self._depth:
            return super()._animated()
        return kept_animated(self._file)

    @cached_property
    def handled(self) -> Mapping[str, Sequence[Handled]]:
        """The kept frames in which each puppet is seen, in any order."""
        if Depth.FOOTAGE in self._depth and not self.is_held:
            return handled_by_puppet(self._file)
        return super().handled

    def _handled(self) -> Iterable[Handled]:
        if Depth.FOOTAGE not in self._depth:
            return super()._handled()
        return kept_handled(self._file)

    def _renamed(self) -> Iterable[tuple[str, str]]:
        for change in self._file.updates(("people",)):
            before, _ = change.columns.get("credit_name", (None, None))
            if before:
                yield change.key, str(before)

    @cached_property
    def reach(self) -> Mapping[str, Reach]:
        """How much of the film each person's hands are in."""
        if Depth.REACH not in self._depth:
            return super().reach
        return kept_reach(self._file, self.ledger)

    @cached_property
    def ways(self) -> Ways:
        """By which ways each person's hands are in the film."""
        if Depth.REACH not in self._depth:
            return super().ways
        return kept_ways(self._file, self.ledger)

    def reach_of(self, person: str) -> Reach | None:
        """Return how much of the film a person's hands are in; None: they are in none of it."""
        if self._reach_is_read or person not in self._expected:
            return super().reach_of(person)
        return self._reach_expected.get(person)

    def ways_of(self, person: str) -> PersonWays:
        """Return by which ways a person's hands are in the film."""
        if self._reach_is_read or person not in self._expected:
            return super().ways_of(person)
        return self._ways_expected.of(person)

    def expect_people(self, people: Collection[str]) -> None:
        """Say of whom reach and ways will be asked for; they are read together, nobody else's."""
        self._expected = people
        for known in ("_reach_expected", "_ways_expected"):
            self.__dict__.pop(known, None)

    @cached_property
    def _reach_expected(self) -> Mapping[str, Reach]:
        return kept_reach(self._file, self.ledger, self._expected)

    @cached_property
    def _ways_expected(self) -> Ways:
        return kept_ways(self._file, self.ledger, self._expected)

    @cached_property
    def hands_on(self) -> Mapping[str, int]:
        """How many people have their hands on each character in the film."""
        return super().hands_on if self._reach_is_read else self._hands_in.on

    @cached_property
    def reached(self) -> Collection[str]:
        """Everybody whose hands are in the film."""
        return super().reached if self._reach_is_read else self._hands_in.people

    @cached_property
    def _hands_in(self) -> HandsIn:
        """Whose hands are in the film and on whom, read without how much of it that is."""
        return kept_hands_in(self._file)

    @property
    def _reach_is_read(self) -> bool:
        """Whether the reach of everybody is at hand, or nothing of it is kept."""
        return self.is_held or Depth.REACH not in self._depth or "reach" in self.__dict__

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Everything that the checks find, answered or not."""
        if Depth.CHECKS not in self._depth:
            return super().checks
        cases = import_module("credits.figures.cases")
        found: tuple[Check, ...]
        found, self._new_cases = cases.kept_cases(
            self._file, lambda: self._known, self._film_is_made_of
        )
        return found

    def keep_checks(self) -> None:
        """Keep what was found that is not kept yet; nothing is read of the figures after it."""
        if self._new_cases is not None:
            self._file.keep_film_cases(*self._new_cases)
            self._new_cases = None

    @property
    def _film_is_made_of(self) -> str:
        """Return a digest that stands for all that is found in the film as a whole."""
        state = self._file.state()
        said = (state["program"], state["position"], self.ledger.production, self.plan_text)
        return sha256(repr(said).encode("utf-8", "surrogatepass")).hexdigest()

    def checks_near(self, day: date, numbers: Collection[EntryNumber]) -> tuple[Check, ...]:
        """Everything found that is about a day or rests on one of some entries; and maybe more."""
        if Depth.CHECKS not in self._depth:
            return super().checks_near(day, numbers)
        cases = import_module("credits.figures.cases")
        # What only the film as a whole shows is about no day: cut and credits are not looked at.
        known = Known(ledger=self.ledger, runs=self.runs)
        found: tuple[Check, ...] = cases.cases_near(self._file, known, day, numbers)
        return found

    def checks_like(self, some: Sequence[Check]) -> tuple[Check, ...]:
        """Everything found that may be called as one of some checks is; and maybe more."""
        if Depth.CHECKS not in self._depth or not all(check.of_days for check in some):
            return super().checks_like(some)
        cases = import_module("credits.figures.cases")
        known = Known(ledger=self.ledger, runs=self.runs)
        found: tuple[Check, ...] = cases.cases_like(self._file, known, some)
        return found
