"""Faults in reviews: days, waits, ranges of the others, the model, projections, what is shown."""

from __future__ import annotations

from benchmarks.fault_list.fault import Fault

_FIGURES = ("review/test_review_figures.py",)
_MODEL = ("review/test_expectation.py",)
_PACE = ("review/test_projection.py",)

_OF_DAYS = (
    Fault(
        "review/days.py",
        "        days = self.shoot_days\n",
        "        days = max(self.stage_days, 1)\n",
        "days of blocking make somebody's pace slower",
        _FIGURES,
    ),
    Fault(
        "review/days.py",
        "counting = min(numbers, key=lambda n: (-(entries[n].share or 1), n))",
        "counting = min(numbers, key=lambda n: ((entries[n].share or 1), n))",
        "the entry with the smallest share says how long a pose is held",
        _FIGURES,
    ),
    Fault(
        "review/days.py",
        "counting = min(numbers, key=lambda n: (-(entries[n].share or 1), n))",
        "counting = max(numbers, key=lambda n: ((entries[n].share or 1), n))",
        "of two equal shares the later entry says how long a pose is held",
        _FIGURES,
    ),
    Fault(
        "review/days.py",
        "counting = min(numbers, key=lambda n: (-(entries[n].share or 1), n))",
        "counting = numbers[0]",
        "the first entry says how long a pose is held, whatever its share",
        _FIGURES,
    ),
    Fault(
        "review/days.py",
        "return 1 - Fraction(frames.kept) / frames.shot if frames.shot else None",
        "return Fraction(frames.kept) / frames.shot if frames.shot else None",
        "the share that was kept is called the share that was re-shot",
        _FIGURES,
    ),
    Fault(
        "review/days.py",
        "return sum([_any_purpose(bits).bit_count() for bits in self.days.values()])",
        "return sum([bits.bit_count() for bits in self.days.values()])",
        "a day with a block and a shoot counts as two stage days",
        _FIGURES,
    ),
    Fault(
        "review/weeks.py",
        "own.minutes += minutes or 0\n        own.worked |= bit",
        "own.minutes += minutes or 0\n        own.worked = bit",
        "of a week's work in one take one day alone counts",
        _FIGURES,
    ),
    Fault(
        "review/days.py",
        "            shared |= worked & bits\n",
        "",
        "a day on two shots counts whole with each of them",
        _MODEL,
    ),
    Fault(
        "review/weeks.py",
        "own.days[row.week] = own.days.get(row.week, 0) | days",
        "own.days[row.week] = days",
        "of a week's work in several takes the days of one alone count",
        _FIGURES,
    ),
)

_WAITS = (
    Fault(
        "review/waits.py",
        "dict.fromkeys((*waiting, *in_shot[shots[puppet, shot]]), shot)",
        "dict.fromkeys(waiting, shot)",
        "who animates the shot that a repair names on another day has not waited",
        _FIGURES,
    ),
    Fault(
        "review/waits.py",
        "found[person] = None if person in found else shot",
        "found[person] = shot",
        "a wait of a day on two shots is put on one of them",
        _FIGURES,
    ),
    Fault(
        "review/waits.py",
        "                    del waiting[person]\n",
        "                    pass\n",
        "a repair of a part that two puppets wore counts twice",
        _FIGURES,
    ),
    Fault(
        "review/hospital.py",
        "        since = entry.logged_on\n",
        "        since = entry.day or ledger.last_day\n",
        "a repair that waits has waited for no day",
        ("review/test_hospital.py",),
    ),
    Fault(
        "review/hospital.py",
        "days = last - first + 1",
        "days = last - first",
        "a repair of one day took none",
        ("review/test_hospital.py",),
    ),
    Fault(
        "review/hospital.py",
        "return RepairState.UNDATED if repair.minutes else RepairState.WAITS",
        "return RepairState.WAITS",
        "a repair that was done on no known day waits for ever",
        ("review/test_hospital.py", "review/test_puppet_now.py"),
    ),
    Fault(
        "review/puppet_now.py",
        "in_hospital=any(day >= seen for day in begun),",
        "in_hospital=any(day > seen for day in begun),",
        "a puppet that went to the hospital on its last day of shooting is said to be on its stage",
        ("review/test_puppet_now.py",),
    ),
    Fault(
        "review/review.py",
        "while end >= min(days).toordinal() and len(found) < MOST_EARLIER:",
        "while end > min(days).toordinal() and len(found) < MOST_EARLIER:",
        "somebody's first day is in no earlier period when it is the last of one",
        _FIGURES,
    ),
    Fault(
        "review/review.py",
        "step = (last - period.first).days + 1",
        "step = (last - period.first).days",
        "the earlier periods are a day shorter than the one they stand beside",
        _FIGURES,
    ),
    Fault(
        "review/review.py",
        "others = self._others.pieces_but(person)",
        'others = self._others.pieces_but("")',
        "everybody is measured by themselves, too",
        _MODEL,
    ),
)

_OTHERS = (
    Fault(
        "review/unit.py",
        "if len(others) < LEAST_OTHERS:",
        "if len(values) < LEAST_OTHERS:",
        "a range of two others is shown, and each of them knows the other's figure",
        _FIGURES,
    ),
    Fault(
        "review/unit.py",
        "if (value := figure(own)) is not None]",
        "if (value := figure(own)) and value[0]]",
        "who kept nothing is left out of the range of the others",
        _FIGURES,
    ),
    Fault(
        "review/unit.py",
        "days=len({(entry.person, entry.day) for entry in own if entry.day is not None}),",
        "days=len({entry.day for entry in own if entry.day is not None}),",
        "two people on one day count as one day of a craft",
        ("review/test_review_figures.py", "pages/test_counted.py"),
    ),
)

_EXPECTED = (
    Fault(
        "review/expectation.py",
        "if has[name] < least\n",
        "if has[name] <= least\n",
        "the model says nothing of somebody with exactly as many days as it asks for",
        _MODEL,
    ),
    Fault(
        "review/expectation.py",
        'LEAST = {"own_days": 5,',
        'LEAST = {"own_days": 4,',
        "the model speaks of four days",
        _MODEL,
    ),
    Fault(
        "review/expectation.py",
        "/ due for done, due in expected) / (len(expected) - 1)",
        "/ due for done, due in expected) / len(expected)",
        "the interval is a little too narrow",
        _MODEL,
    ),
    Fault(
        "review/projection.py",
        "pace=Fraction(kept) / days,",
        "pace=sum((week.pace for week in last), Fraction(0)) / len(last),",
        "weeks of one day weigh as much as weeks of six in the unit's pace",
        _PACE,
    ),
    Fault(
        "review/projection.py",
        "days=len({cell.day for cell in cells}),",
        "days=len({cell.day for cell in cells if cell.by_shot_kept}),",
        "a day of which nothing was kept is no shoot day of the unit",
        _PACE,
    ),
    Fault(
        "review/projection.py",
        "last = tuple(weeks[-PACE_WEEKS:])",
        "last = tuple(weeks[:PACE_WEEKS])",
        "the pace is that of the first weeks of the shoot",
        _PACE,
    ),
    Fault(
        "review/projection.py",
        "sunday = week_days(week)[-1]",
        "sunday = week_days(week)[0]",
        "a new target holds a week too late",
        _PACE,
    ),
)

_AGAIN_SHOWN = (
    Fault(
        "review/retakes.py",
        "and (other.day or date.min) < day\n",
        "and (other.day or date.min) <= day\n",
        "every note of a day is given as the reason of a retake",
        ("review/test_retakes.py",),
    ),
    Fault(
        "review/shown.py",
        "WeekBar(week, own.accepted, own.kept - own.accepted, own.shot - own.kept)",
        "WeekBar(week, own.accepted, own.kept, own.shot - own.kept)",
        "the bar of a week shows accepted frames twice",
        _FIGURES,
    ),
)

FAULTS = (*_OF_DAYS, *_WAITS, *_OTHERS, *_EXPECTED, *_AGAIN_SHOWN)
