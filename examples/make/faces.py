"""What the face sheets say: which face and which eyelids were on in which frame."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from .cast import BY_CODE, wears_faces
from .chance import Chance
from .schedule import Booked
from .stock import Stock
from .story import BY_CODE as SHOT_BY_CODE
from .tables import Entry, Row, frames_text

AS_ON_THE_STAGE = "050-070"
"""The shot whose sheet stays as the stage wrote it: a row a frame."""
GAP = ("040-060", "echo")
BLINK = ("lid-1", "lid-2", "lid-1")

Sheet = dict[int, list[str]]
Key = tuple[str, int, str]


def _kits(stock: Stock, claims: Iterable[Entry]) -> dict[int, str]:
    """The letter of the face kit in each claimed frame; the later day replaces the earlier."""
    letters: dict[int, str] = {}
    for claim in sorted(claims, key=lambda e: e.finished_on or date.min):
        day = claim.finished_on or date.min
        for f in stock.fittings:
            fitted = f.puppet == claim.puppet and f.from_on <= day <= f.to_on
            if fitted and "-kit-" in f.part:
                letters.update(dict.fromkeys(range(claim.first, claim.last + 1), f.part[-1]))
    return letters


def _sheet(key: Key, letters: dict[int, str], speaks: bool) -> Sheet:
    """Faces held for a few poses, and a blink of three frames now and then."""
    shot, take, character = key
    chance = Chance("faces", shot, take, character)
    c = BY_CODE[character]
    sheet: Sheet = {}
    face, until = 1, 0
    blink = chance.between(9, 40)
    for frame in sorted(letters):
        if frame > until:
            usual = chance.between(1, 3) if speaks else chance.between(5, 12)
            face, until = chance.between(1, c.faces), frame + usual * c.poses_on - 1
        sheet[frame] = [f"{character}-{letters[frame]}-{face:02}"]
        if frame > blink + 2:
            blink = frame + chance.between(20, 55)
        if 0 <= frame - blink <= 2:
            sheet[frame].append(f"{character}-{letters[frame]}-{BLINK[frame - blink]}")
    return sheet


def all_sheets(stock: Stock, entries: list[Entry], booked: list[Booked]) -> dict[Key, Sheet]:
    """A sheet for each shoot take and character with a face kit; a few were never handed in."""
    shoots = {(b.shot.code, b.day.take) for b in booked if b.day.purpose == "shoot"}
    claims: dict[Key, list[Entry]] = {}
    for e in entries:
        has_faces = e.craft == "animation" and BY_CODE[e.character].kits
        if has_faces and (e.shot, e.take) in shoots:
            claims.setdefault((e.shot, e.take, e.character), []).append(e)
    sheets: dict[Key, Sheet] = {}
    for key, lines in claims.items():
        wanted = key[0] in (AS_ON_THE_STAGE, GAP[0])
        if all(wears_faces(e.puppet) for e in lines) and (
            wanted or Chance("handed in", *key).happens(86)
        ):
            cast = {part.character: part.speaks for part in SHOT_BY_CODE[key[0]].cast}
            sheets[key] = _sheet(key, _kits(stock, lines), cast[key[2]])
    return sheets


def replacement_rows(sheets: dict[Key, Sheet]) -> list[Row]:
    """The replacements table, without the shot whose sheet stays as it is."""
    rows: list[Row] = []
    for (shot, take, character), sheet in sorted(sheets.items()):
        if shot == AS_ON_THE_STAGE:
            continue
        frames: dict[str, list[int]] = {}
        for frame, parts in sheet.items():
            for part in parts:
                frames.setdefault(part, []).append(frame)
        for part, shown in sorted(frames.items()):
            row = {"shot": shot, "take": str(take), "character": character, "part": part}
            rows.append({**row, "frames": frames_text(shown)})
    return rows


def stage_sheet(sheets: dict[Key, Sheet]) -> tuple[list[str], list[Row]]:
    """The stage's own sheet: its columns, and a row a frame.

    A cell holds one part: in the three frames of a blink the lids, the face below being the last.
    """
    mine = {key[2]: sheet for key, sheet in sheets.items() if key[0] == AS_ON_THE_STAGE}
    characters = sorted(mine)
    rows: list[Row] = []
    for frame in range(1, SHOT_BY_CODE[AS_ON_THE_STAGE].frames + 1):
        row = {"frame": str(frame)}
        for character in characters:
            row[character] = mine[character].get(frame, [""])[-1]
        rows.append(row)
    return ["frame", *characters], rows


def lose_two_frames(sheets: dict[Key, Sheet]) -> tuple[int, int]:
    """Leave two frames without a face in the middle of a sheet; give their numbers."""
    key = max(k for k in sheets if (k[0], k[2]) == GAP)
    sheet = sheets[key]
    middle = max(sheet) // 2
    first = next(f for f in range(middle, max(sheet)) if len(sheet[f] + sheet[f + 1]) == 2)
    del sheet[first], sheet[first + 1]
    return first, first + 1
