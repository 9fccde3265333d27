"""Faults in what counts: units, the model, footage and hands."""

from __future__ import annotations

from benchmarks.fault_list.fault import Fault

_FRAMES = ("units/test_frames.py", "units/test_frames_laws.py")
_ROUNDING = ("units/test_rounding.py",)
_CUT_USE = ("footage/test_cut_use.py", "footage/test_cut_laws.py")
_CLAIMS = ("footage/test_footage_table.py", "footage/test_footage_laws.py")
_REPLAY = ("model/test_replay.py",)
_HANDS = ("hands/test_spread.py", "hands/test_seen.py")

_UNITS = (
    Fault(
        "units/rounding.py",
        "for row in by_remainder[:missing]:",
        "for row in by_remainder[: missing - 1]:",
        "a printed column adds up to one less than its total",
        _ROUNDING,
    ),
    Fault(
        "units/rounding.py",
        "key=lambda row: -(quotas[row] % one))",
        "key=lambda row: (-(quotas[row] % one), -row))",
        "of equal remainders the last row is rounded up, not the first",
        _ROUNDING,
    ),
    Fault(
        "units/rounding.py",
        "return (2 * numerator + denominator) // (2 * denominator)",
        "return (2 * numerator + denominator - 1) // (2 * denominator)",
        "exactly halfway is rounded down",
        _ROUNDING,
    ),
    Fault(
        "units/rounding.py",
        "for places in range(MOST_PLACES + 1):",
        "for places in range(MOST_PLACES):",
        "a number of twelve decimals is written as a fraction",
        _ROUNDING,
    ),
    Fault(
        "units/rounding.py",
        "return _with_missing_units([weight * seats for weight in whole], total, seats)",
        "return [weight * seats // total for weight in whole]",
        "minutes of an entry are lost when they are divided among people",
        _ROUNDING,
    ),
    Fault(
        "units/frames.py",
        "if out and first <= out[-1][1]:",
        "if out and first < out[-1][1]:",
        "1-20,21-40 is not written 1-40, and equal sets are not equal",
        _FRAMES,
    ),
    Fault(
        "units/frames.py",
        "out[-1] = (out[-1][0], max(stop, out[-1][1]))",
        "out[-1] = (out[-1][0], stop)",
        "a short range inside a long one cuts the long one off",
        _FRAMES,
    ),
    Fault(
        "units/frames.py",
        "ranges.append((first, last + 1))\n        return",
        "ranges.append((first, last))\n        return",
        "the last frame that somebody wrote is not theirs",
        _FRAMES,
    ),
    Fault(
        "units/frames.py",
        "if last > HIGHEST_FRAME:",
        "if last >= HIGHEST_FRAME:",
        "the highest frame number is refused",
        _FRAMES,
    ),
    Fault(
        "units/frames.py",
        "if mine[i][1] <= theirs[j][1]:",
        "if mine[i][1] >= theirs[j][1]:",
        "what two sets share is lost behind the first range",
        _FRAMES,
    ),
    Fault(
        "units/frames.py",
        "while at < len(self.ranges) and self.ranges[at][0] < stop:",
        "while at < len(self.ranges) and self.ranges[at][1] < stop:",
        "frames that the cut uses are not counted where a claim goes on behind them",
        (*_FRAMES, *_CUT_USE),
    ),
    Fault(
        "units/frames.py",
        "if active and stop > first:",
        "if len(active) > 1 and stop > first:",
        "frames of one hand alone are in no run",
        (*_FRAMES, *_HANDS),
    ),
    Fault(
        "units/film_time.py",
        "return number - skipped * (whole_minutes - whole_minutes // 10)",
        "return number - skipped * whole_minutes",
        "drop-frame timecode runs off by two frames in ten minutes",
        ("units/test_film_time.py", "units/test_time_laws.py"),
    ),
    Fault(
        "units/film_time.py",
        "if over >= 60 * nominal:",
        "if over > 60 * nominal:",
        "the first frame of a minute gets a label that drop-frame timecode skips",
        ("units/test_film_time.py", "units/test_time_laws.py"),
    ),
    Fault(
        "units/film_time.py",
        "return (self.first or day) <= day <= (self.last or day)",
        "return (self.first or day) <= day < (self.last or day)",
        "the last day of a period is not in it",
        ("units/test_film_time.py",),
    ),
    Fault(
        "units/film_time.py",
        "return self.first is None and self.last is None",
        "return True",
        "undated work is in every period",
        ("units/test_film_time.py", "review/test_review_figures.py"),
    ),
)

_MODEL = (
    Fault(
        "model/replay.py",
        "        if any(c.verb is Verb.VOID for c in corrections):\n            return None\n",
        "",
        "a void counts less than an amendment of the same line",
        _REPLAY,
    ),
    Fault(
        "model/replay.py",
        "return sorted(standing, key=lambda c: (c.logged_at, c.number))",
        "return sorted(standing, key=lambda c: c.number)",
        "of two corrections from two units the higher number counts, not the later one",
        _REPLAY,
    ),
    Fault(
        "model/replay.py",
        "standing = [c for c in found if self._holds[c.number] is not None]",
        "standing = found",
        "an amendment that was voided hides the one that stands",
        _REPLAY,
    ),
    Fault(
        "model/replay.py",
        "if len(standing) > 1 or (voids and standing):",
        "if len(standing) > 1:",
        "nobody is told that a line was voided by one unit and amended by the other",
        _REPLAY,
    ),
    Fault(
        "model/replay.py",
        "out[code] = min(seen[seen.index(after) :]) if after in seen else seen[-1]",
        "out[code] = min(seen) if after in seen else seen[-1]",
        "a code beside a circle of codes becomes somebody of its own",
        _REPLAY,
    ),
    Fault(
        "model/replay.py",
        "for word in sorted(words, key=lambda word: word.confirmed_on):",
        "for word in words:",
        "the date in the people table hides a later word on the spelling",
        ("model/test_confirmed.py",),
    ),
    Fault(
        "model/ledger.py",
        "return last is not None and last.is_right and last.name == self.person(code).credit_name",
        "return last is not None and last.is_right",
        "a name that was changed after it was confirmed is called confirmed",
        ("model/test_confirmed.py", "checks/test_checks_people.py"),
    ),
    Fault(
        "model/ledger.py",
        "return cls(rows[0][:2], min([row[2:4] for row in rows]), len(rows), *first_and_last)",
        "return cls(rows[0][:2], rows[0][2:4], len(rows), *first_and_last)",
        "amended work stands in the wrong place under a heading",
        ("model/test_replay.py", "billing/test_credits.py"),
    ),
    Fault(
        "model/ledger.py",
        "days = [(entry.work.started_on or entry.day, entry.day) for entry in own if entry.day]",
        "days = [(entry.day, entry.day) for entry in own if entry.day]",
        "work of several days is shown as if it began on its last one",
        ("model/test_replay.py", "pages/test_character.py", "pages/test_counted.py"),
    ),
    Fault(
        "model/ledger.py",
        "return self.takes.get((shot, number)) or facts.Take(shot=shot, number=number)",
        "return self.takes.get((shot, number)) or facts.Take(shot=shot, number=1)",
        "a take that is in no table passes for the first",
        ("model/test_replay.py", "review/test_retakes.py"),
        changes_nothing="whoever asks for a take that is in no table looks at its decision and its"
        " purpose alone, and knows the number",
    ),
    Fault(
        "model/words.py",
        "texts = [*texts[:most], counted(len(texts) - most, other, others)]",
        "texts = [*texts[:most], counted(len(texts), other, others)]",
        "a long list says that more is left out than is",
        ("model/test_words.py", "checks/test_checks_frames.py"),
    ),
    Fault(
        "model/merging.py",
        "if own == before and before is not MISSING:",
        "if other == before and before is not MISSING:",
        "what the other log changed in a row is lost when logs are joined",
        ("store/test_store_merge.py",),
    ),
)

_FOOTAGE = (
    Fault(
        "footage/claims.py",
        "own = sorted(own, key=lambda each: (-(each.share or 1), each.number))",
        "own = sorted(own, key=lambda each: ((each.share or 1), each.number))",
        "the stage of somebody's smallest share gets the footage",
        _CLAIMS,
    ),
    Fault(
        "footage/claims.py",
        "own = sorted(own, key=lambda each: (-(each.share or 1), each.number))",
        "own = sorted(own, key=lambda each: each.number)",
        "the stage of somebody's first entry gets the footage, whatever its share",
        _CLAIMS,
    ),
    Fault(
        "footage/claims.py",
        'keys = [(each.character or "", each.day or date.min) for each in entries]',
        'keys = [(each.character or "", each.day or date.max) for each in entries]',
        "undated work is kept over what was photographed again on a day",
        _CLAIMS,
    ),
    Fault(
        "footage/cut.py",
        "(take.decided_on or date.min, take.number)",
        "(take.decided_on or date.max, take.number)",
        "an accepted take without a day is shown instead of the one accepted last",
        _CUT_USE,
    ),
    Fault(
        "footage/cut.py",
        "if take.purpose is Purpose.SHOOT and take.decision is Decision.ACCEPTED",
        "if take.decision is Decision.ACCEPTED",
        "an accepted block stands for the shot",
        _CUT_USE,
    ),
    Fault(
        "footage/cut.py",
        "return tuple(sorted(first_seen.items(), key=lambda item: (item[1], item[0])))",
        "return tuple(sorted(first_seen.items()))",
        "characters stand by their code, not as the film shows them",
        _CUT_USE,
    ),
    Fault(
        "footage/footage.py",
        "in_cut, on_screen = use.frames_in_cut(*where), use.frames_on_screen(*where)",
        "in_cut, on_screen = use.frames_in_cut(*where), use.frames_in_cut(*where)",
        "a shot that is seen twice counts once on screen",
        (*_CUT_USE, *_CLAIMS),
    ),
    Fault(
        "footage/footage.py",
        "for layer, among in zip(layers, map(days.count, days), strict=True):",
        "for layer, among in zip(layers, [len(days)] * len(days), strict=True):",
        "a day's frames are divided by what other days had in them",
        _CLAIMS,
    ),
    Fault(
        "footage/footage.py",
        "values[place + len(MEASURES)] += count * part // among",
        "values[place + len(MEASURES)] += count * part",
        "a frame with two characters counts twice as shot footage",
        _CLAIMS,
    ),
    Fault(
        "footage/footage.py",
        "is_accepted = ledger.take(own.shot, own.take).decision is Decision.ACCEPTED",
        "is_accepted = ledger.take(own.shot, own.take).decision is not Decision.RETAKE",
        "takes that nobody has decided count as accepted",
        _CLAIMS,
    ),
    Fault(
        "footage/footage.py",
        "if entry.day is not None and ledger.is_footage(entry):",
        "if entry.day is not None:",
        "days of building count as stage days",
        ("footage/test_footage_table.py", "pages/test_person.py"),
    ),
    Fault(
        "footage/remaining.py",
        "found = WantedFrames(again=shot, unshot=unshot)",
        "found = WantedFrames(open=shot, unshot=unshot)",
        "a take that is to be shot again passes for shot",
        ("footage/test_remaining.py",),
    ),
    Fault(
        "footage/remaining.py",
        "if shot.status is not ShotStatus.OMITTED\n    }",
        "if shot.status is not ShotStatus.DONE\n    }",
        "omitted shots are still to shoot",
        ("footage/test_remaining.py",),
    ),
    Fault(
        "footage/remaining.py",
        "when = (entry.day or date.min, entry.first)",
        "when = (entry.day or date.max, entry.first)",
        "undated work says on which stage a shot is shot",
        ("footage/test_remaining.py",),
    ),
    Fault(
        "footage/how_far.py",
        "if own.unshot and own.unshot == own.frames:",
        "if own.unshot:",
        "a shot that lacks a few frames is said to have none",
        ("footage/test_how_far.py",),
    ),
    Fault(
        "footage/how_far.py",
        "key=lambda clip: clip.film_first)",
        "key=lambda clip: clip.shot)",
        "the strip of the film is in the order of shots",
        ("footage/test_how_far.py",),
    ),
    Fault(
        "footage/how_far.py",
        "    if at < stop:\n        yield at, stop, FrameStand.MISSING",
        "    if at < stop - 1:\n        yield at, stop, FrameStand.MISSING",
        "one frame that is missing at the end of a shot is not shown",
        ("footage/test_how_far.py",),
    ),
    Fault(
        "footage/day.py",
        "LOOKED_BACK = 14",
        "LOOKED_BACK = 13",
        "a stage that last worked a fortnight ago is not asked about",
        ("footage/test_day.py",),
    ),
)

_IN_HANDS = (
    Fault(
        "hands/hands.py",
        "if entry.frames is None or entry.take not in (None, take):",
        "if entry.frames is None or entry.take != take:",
        "who performed in every take of a shot is in none",
        _HANDS,
    ),
    Fault(
        "hands/hands.py",
        "lambda entry: frames.since(entry.day))",
        "lambda entry: frames.since(None))",
        "who built a copy is in frames that were shot before",
        _HANDS,
    ),
    Fault(
        "hands/seen.py",
        "if day is None or fitting.holds_on(day):",
        "if day is not None and fitting.holds_on(day):",
        "parts of a puppet that was animated on no known day are seen nowhere",
        _HANDS,
    ),
    Fault(
        "hands/reach.py",
        "frames=sum(each.frame_count for _, _, each in own),",
        "frames=sum(each.screen_frames for _, _, each in own),",
        "frames that the film repeats count twice in somebody's reach",
        ("hands/test_reach.py",),
    ),
)

FAULTS = (*_UNITS, *_MODEL, *_FOOTAGE, *_IN_HANDS)
