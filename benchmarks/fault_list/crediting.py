"""Faults in the end credits and in what is asked about the log: billing and checks."""

from __future__ import annotations

from benchmarks.fault_list.fault import Fault

_CREDITS = ("billing/test_credits.py", "billing/test_plan_lines.py", "billing/test_plan.py")
_PLAN = ("billing/test_plan.py", "billing/test_credits.py")
_LINES = ("billing/test_plan_lines.py", "billing/test_credits.py")
_ROLL = ("billing/test_roll.py", "billing/test_running_time.py")
_COMPARED = ("billing/test_proof_compare.py", "billing/test_proof.py")
_CONTRACTS = ("checks/test_checks_contracts.py",)

_FOUND = (
    Fault(
        "billing/thresholds.py",
        "return self.figure >= self.threshold.least",
        "return self.figure > self.threshold.least",
        "who reaches exactly what is asked for is not printed",
        _PLAN,
    ),
    Fault(
        "billing/thresholds.py",
        "figure = len(set[str]().union(*(done.days for done in work)))",
        "figure = sum(done.brief.entries for done in work)",
        "days that are asked for are counted in entries, undated ones too",
        _PLAN,
    ),
    Fault(
        "billing/thresholds.py",
        "shot = (done.days for done in own if crafts[done.craft].footage)",
        "shot = (done.days for done in own)",
        "days of building count as stage days of a threshold",
        _PLAN,
    ),
    Fault(
        "billing/thresholds.py",
        "if whole and Fraction(own, whole) * 100 > best[0]:",
        "if whole and Fraction(own, whole) * 100 >= best[0]:",
        "of two characters with the same part the last one is named",
        _PLAN,
    ),
    Fault(
        "billing/thresholds.py",
        "if (Fraction(shown) >= self.threshold.least) is self.enough:",
        "if Fraction(shown) != 0:",
        "19.999 seconds of 20 are said to be 20.00, and not enough",
        _PLAN,
    ),
    Fault(
        "billing/thresholds.py",
        "return on_stage.where(lambda cell: cell.stage in stages)",
        "return on_stage",
        "footage of the other unit counts for a threshold of one unit",
        ("billing/test_plan.py", "billing/test_plan_lines.py", "billing/test_episodes.py"),
    ),
    Fault(
        "model/ledger.py",
        "return {row[7] for row in self.rows if row[7] is not None}",
        'return {row[7] or "" for row in self.rows}',
        "undated work counts as a day of a threshold",
        _PLAN,
    ),
    Fault(
        "billing/found.py",
        "if rule.printed or (rule.headings and fold_words(section.heading) not in rule.headings):",
        "if rule.printed:",
        "who is left out under one heading is left out everywhere",
        _PLAN,
    ),
    Fault(
        "billing/routes.py",
        "if found.guaranteed and (group := self._group(place)):",
        "if (group := self._group(place)):",
        "people stand under the first heading that finds them, whatever their contract says",
        _PLAN,
    ),
    Fault(
        "billing/routes.py",
        "if taken != place and group and not found.guaranteed:",
        "if taken != place and group:",
        "who is named once in all loses a second heading that a contract guarantees",
        _PLAN,
    ),
    Fault(
        "billing/routes.py",
        "if reached is None or reached.enough or found.guaranteed or found.named:",
        "if reached is None or reached.enough or found.named:",
        "a threshold takes away what a contract guarantees",
        _PLAN,
    ),
    Fault(
        "billing/compile.py",
        "kind = ReasonKind.BELOW_THRESHOLD if person in below else kind",
        "kind = kind if person in left_out else ReasonKind.BELOW_THRESHOLD",
        "people whom no section takes are said to have too little",
        _CREDITS,
    ),
    Fault(
        "billing/compile.py",
        "if who.wish is CreditWish.UNCREDITED:",
        "if who.wish is CreditWish.UNCREDITED and person not in below:",
        "somebody's wish is not told where a threshold would have held them, too",
        _PLAN,
        changes_nothing="who asks to be uncredited is held before any threshold is looked at",
    ),
)

_SECTIONS = (
    Fault(
        "billing/plan.py",
        "planned = (s for s in plan.sections if not (key and s.episodes) or key in s.episodes)",
        "planned = (s for s in plan.sections if not s.episodes or key in s.episodes)",
        "sections of episodes are not in the credits of the whole film",
        ("billing/test_episodes.py",),
    ),
    Fault(
        "billing/plan.py",
        "if sending.get(key) == place and key not in known:",
        "if key in sending and key not in known:",
        "a heading for those who have too little comes twice",
        _PLAN,
    ),
    Fault(
        "billing/lines.py",
        "if len(own) < 2 or len({line.role for line in own}) > 1:",
        "if len(own) < 2:",
        "two names are joined on one line under two roles",
        _LINES,
    ),
    Fault(
        "billing/lines.py",
        "for jobs in (found.guaranteed, found.engagements, _unbound(ledger, person)):",
        "for jobs in (ledger.engagements.get(person, ()),):",
        "the number of another contract places somebody under a heading",
        _PLAN,
    ),
    Fault(
        "billing/stages.py",
        "if stage_of.get(EntryNumber(*row[2:4])) in stages)",
        "if stage_of.get(EntryNumber(*row[2:4]), next(iter(stages))) in stages)",
        "work on no stage counts for every unit",
        ("billing/test_plan.py", "billing/test_plan_lines.py"),
    ),
)

_SET = (
    Fault(
        "billing/setting/pages.py",
        "return nothing_above or self._at + lines <= self._room",
        "return nothing_above or self._at + lines < self._room",
        "what fills a page exactly goes to the next",
        ("billing/test_pages.py",),
    ),
    Fault(
        "billing/setting/pages.py",
        "placed = _under_its_role(unit)",
        "placed = unit",
        "over a page names stand without their role",
        ("billing/test_pages.py",),
    ),
    Fault(
        "billing/setting/roll.py",
        "if card.lines > most:",
        "if card.lines >= most:",
        "a card that is exactly full is said to be too high",
        _ROLL,
    ),
    Fault(
        "billing/setting/roll.py",
        "            if width > safe:",
        "            if width >= safe:",
        "pictures that just fit are said to be too wide",
        _ROLL,
    ),
    Fault(
        "billing/setting/roll.py",
        "too_fast = line_frames / rate.per_second < LEAST_SECONDS_A_LINE",
        "too_fast = line_frames / rate.per_second <= LEAST_SECONDS_A_LINE",
        "a roll of exactly the fastest rate is called too fast",
        _ROLL,
    ),
    Fault(
        "billing/setting/roll.py",
        "return ceil(self.height * LEAST_TEXT)",
        "return int(self.height * LEAST_TEXT)",
        "letters may be a pixel lower than the guidance asks",
        _ROLL,
    ),
    Fault(
        "billing/setting/roll.py",
        "frames = ceil(Fraction(self.travel(lines), speed))",
        "frames = self.travel(lines) // speed",
        "the last line has not quite left the picture",
        _ROLL,
    ),
    Fault(
        "billing/setting/roll.py",
        "if not all(LEAST_SIDE <= side <= LARGEST_SIDE for side in sides):",
        "if not all(LEAST_SIDE <= side < LARGEST_SIDE for side in sides):",
        "the largest picture is refused",
        _ROLL,
    ),
    Fault(
        "billing/setting/roll.py",
        "if capitals >= least:",
        "if capitals > least:",
        "letters of exactly the least height are called too small",
        _ROLL,
    ),
    Fault(
        "billing/setting/running_time.py",
        "return sum(ceil(card.seconds * rate.per_second) for card in cards)",
        "return ceil(sum(card.seconds for card in cards) * rate.per_second)",
        "the running time with several cards is a frame or two short",
        _ROLL,
    ),
    Fault(
        "billing/setting/rows.py",
        "depth = -(-len(names) // columns)",
        "depth = max(1, len(names) // columns)",
        "names in columns are lost, or stand in one column too many",
        ("billing/test_rows.py",),
    ),
    Fault(
        "billing/setting/breaking.py",
        "room = self._room - (self._indent if first else 0)",
        "room = self._room",
        "rows that are indented stand out of the picture",
        ("billing/test_breaking.py", "billing/test_rows.py"),
    ),
)

_COMPARING = (
    Fault(
        "billing/compared/edits.py",
        "if not (before.title and after.title):",
        "if not (before.title or after.title):",
        "every proof of earlier times is said to be of another film",
        _COMPARED,
    ),
    Fault(
        "billing/proofs.py",
        "return (proof.mark.plan, proof.mark.cut) == (plan, cut) and froze(proof, credits)",
        "return proof.mark.plan == plan and froze(proof, credits)",
        "a proof of another cut is called exactly the credits as they stand",
        ("billing/test_proof.py", "billing/test_proof_compare.py"),
    ),
)

_ASKED = (
    Fault(
        "checks/frames.py",
        "beyond = entry.frames and entry.frames.last > shot.length",
        "beyond = entry.frames and entry.frames.last >= shot.length",
        "the last frame of every shot is asked about",
        ("checks/test_checks_frames.py",),
    ),
    Fault(
        "checks/frames.py",
        "if not used or take.decision is Decision.ACCEPTED:",
        "if not used or take.decision is not Decision.RETAKE:",
        "nobody is told that the cut uses a take that is still open",
        ("checks/test_checks_cut.py",),
    ),
    Fault(
        "checks/contracts.py",
        "if not any(key in stand.says | stand.by_contract for stand in lines):",
        "if not any(key in stand.says for stand in lines):",
        "a guaranteed heading in other words is said to be missing",
        _CONTRACTS,
    ),
    Fault(
        "checks/places.py",
        "if met is not None and _end(met) > fitting.from_on:",
        "if met is not None and _end(met) >= fitting.from_on:",
        "a part that changes puppets on a day is said to be on two",
        ("checks/test_checks_puppets.py",),
    ),
    Fault(
        "checks/places.py",
        "return entry.said_puppet is not None or ledger.is_footage(entry)",
        "return True",
        "a voice brings the puppet to a stage",
        ("checks/test_checks_places.py",),
    ),
    Fault(
        "checks/people.py",
        "if total > LONGEST_DAY_MINUTES:",
        "if total >= LONGEST_DAY_MINUTES:",
        "exactly sixteen hours are asked about",
        ("checks/test_checks_people.py",),
    ),
    Fault(
        "checks/people.py",
        "return entry.minutes or 0 if began is None or began == entry.day else 0",
        "return entry.minutes or 0",
        "work of a week is said to be a day of forty hours",
        ("checks/test_checks_people.py", "checks/test_checks_entries.py"),
    ),
    Fault(
        "checks/entries.py",
        "day - logged_on > timedelta(days=1):",
        "day - logged_on >= timedelta(days=1):",
        "what is logged where it is tomorrow already is asked about",
        ("checks/test_checks_entries.py",),
    ),
    Fault(
        "checks/answers.py",
        "return None if last is None or last.taken_back else last",
        "return last",
        "an answer that was taken back still settles its question",
        ("checks/test_settled.py",),
    ),
)

FAULTS = (*_FOUND, *_SECTIONS, *_SET, *_COMPARING, *_ASKED)
