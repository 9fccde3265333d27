"""The labels of a strip have room, however many, however long, however wide the strip is."""

from __future__ import annotations

import re
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from credits import files
from credits.site.labels import (
    MARK_SIZE,
    NAME_SIZE,
    ROOMS,
    Label,
    beside_mark,
    coarse_first,
    placed,
    room_for,
    text_width,
)
from credits.site.strips import BlockSpec, drawn_ticks, strip

NAMES = [name for name, _ in ROOMS]
shares = st.floats(0, 1)
labels = st.builds(Label, shares, st.floats(0, 30), st.booleans())


def shown(need: str | None, name: str) -> bool:
    """Whether what needs a room is shown on a strip that has the room of that name."""
    return need is not None and NAMES.index(need) <= NAMES.index(name)


@given(every=st.lists(labels, max_size=30), wider=st.floats(1, 1.2))
def test_no_two_labels_lie_over_each_other_and_none_beyond_the_strip(
    every: list[Label], wider: float
) -> None:
    needs = placed(every, coarse_first(len(every)))
    assert len(needs) == len(every)
    for name, room in ROOMS:
        own = [label for label, need in zip(every, needs, strict=True) if shown(need, name)]
        ends = sorted(label.within(room * wider) for label in own)
        assert all(first >= 0 and stop <= room * wider + 1e-9 for first, stop in ends)
        assert all(stop < first for (_, stop), (first, _) in pairwise(ends))


@given(every=st.lists(labels, max_size=12))
def test_a_label_that_has_room_alone_is_never_left_out_for_nothing(every: list[Label]) -> None:
    needs = placed(every, coarse_first(len(every)))
    widest = ROOMS[-1][1]
    inside = [label.within(widest)[0] >= 0 and label.within(widest)[1] <= widest for label in every]
    if any(inside):
        assert any(need is not None for need in needs)


@given(at=shares, text=st.text(max_size=200))
def test_the_label_of_a_mark_near_the_end_stands_before_it(at: float, text: str) -> None:
    label = beside_mark(at, text)
    first, stop = label.within(ROOMS[-1][1])
    assert stop <= ROOMS[-1][1] + 1e-9
    assert label.ends or first >= at * ROOMS[-1][1]


@given(text=st.text(min_size=1, max_size=60), share=shares)
def test_a_name_is_never_wider_than_its_stretch(text: str, share: float) -> None:
    need = room_for(text, share)
    for name, room in ROOMS:
        if shown(need, name):
            assert NAME_SIZE * text_width(text) <= share * room


@given(count=st.integers(0, 200))
def test_marks_are_thinned_evenly(count: int) -> None:
    order = coarse_first(count)
    assert sorted(order) == list(range(count))
    assert order[:1] == [0] * min(count, 1)
    for step in (2, 4, 8):
        kept = order[: -(-count // step)]
        assert sorted(kept) == list(range(0, count, step))


def test_the_words_of_marks_are_shown_where_they_have_room() -> None:
    ticks = drawn_ticks((at / 10, "", f"{at}0 frames") for at in range(11))
    looks = [tick.below_look for tick in ticks]
    assert looks[0] == ""  # everywhere
    assert looks[10].split()[-1] == "e"  # before the end
    assert looks.count("") < len(looks)


def test_a_name_stands_in_its_stretch_else_behind_it_else_nowhere() -> None:
    name = "Somebody"
    thin = BlockSpec(0, 2, 0, "", name)
    rows = [
        ("in", [BlockSpec(0, 100, 0, "", name)]),
        ("behind", [thin, BlockSpec(50, 52, 1, "")]),
        ("nowhere", [thin, BlockSpec(2, 100, 1, "")]),
    ]
    within, behind, nowhere = (row.blocks[0] for row in strip("", rows, (0, 100)).rows)
    assert (within.label, within.label_x, within.room) == (name, "0", "")
    assert (behind.label, behind.label_x) == (name, "2")
    assert nowhere.label == ""


def test_the_style_sheet_has_the_sizes_and_the_rooms() -> None:
    css = (files.shipped("site_templates") / "style.css").read_text("utf-8")
    (marks,) = re.findall(r"\.drawn \.scale \{[^}]*font-size: ([\d.]+)rem", css)
    (names,) = re.findall(r"\.drawn \{[^}]*font-size: ([\d.]+)rem", css)
    assert (float(marks), float(names)) == (MARK_SIZE, NAME_SIZE)
    # Beside the strip stand the names of its rows, where it is at least 40rem wide.
    (beside,) = re.findall(
        r"grid-template-columns: ([\d.]+)rem minmax", css.partition("(min-width: 40rem)")[2]
    )
    for name, room in ROOMS[1:]:
        (width,) = re.findall(rf"\(min-width: ([\d.]+)rem\) {{ \.drawn \.{name} ", css)
        assert float(width) >= room + (float(beside) if float(width) >= 40 else 0)
