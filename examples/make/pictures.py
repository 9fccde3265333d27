"""The pictures folder: each character, a few copies on the bench, a few shots."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from .animals import DRAWN
from .cast import BY_CODE
from .ink import BRASS, INK, brass, dot, line, page, ring, thin
from .story import BY_CODE as SHOT_BY_CODE

BENCH = {
    "tibb-1": (0.86, "The hero, on her stand"),
    "tibb-6": (0.34, "The small one, for the wide sets"),
    "echo-2": (0.86, "The one with the longest ears"),
    "fugg-2": (0.86, "Before the lamp"),
    "piano-2": (0.8, "The one that opens"),
}
WIDE = "0 0 320 180"
FUND = "The mark of the Valley Fund for Slow Pictures"


def _placed(character: str, x: float, y: float, scale: float) -> str:
    """A character standing at a point of a picture: x its middle, y its ground."""
    left, top = x - 100 * scale, y - 223 * scale
    where = f"translate({left:.1f} {top:.1f}) scale({scale:g})"
    return f'<g transform="{where}">\n{DRAWN[character]}\n</g>'


def _on_the_bench(puppet: str) -> str:
    """A copy on the hospital's bench: a stand behind it, its number on a luggage label."""
    character, _, copy = puppet.partition("-")
    scale, _ = BENCH[puppet]
    stand = line("M13 206V70H22M6 212H22", 2.2) + ring(26, 70, 4, 2.2)
    bench = line("M6 214H194", 2.6) + thin("M14 226H186M22 214V238M178 214V238")
    label = brass("M164 60L182 60L188 70L182 80H164Z", 2.4) + dot(183, 70, 1.6)
    marks = "".join(thin(f"M{166.5 + 2.6 * n:g} 65V75") for n in range(int(copy)))
    return "\n".join((_placed(character, 100, 213, scale), stand, bench, label, marks))


def _mountains() -> str:
    peaks = line("M4 92L52 44L84 74L140 14L196 70L226 48L316 96", 2.2)
    return peaks + thin("M124 34L138 44L147 33L158 44M42 54L53 62L62 54M216 55L227 62L238 56")


def _village() -> str:
    left = thin("M4 166Q160 156 316 168M24 160V124L42 108L60 124V160M36 160V144H48V160")
    right = thin("M252 161V118H292V162M262 118V104L272 92L282 104V118M266 128H278V142H266Z")
    return left + right


def _strings(keep_free: tuple[range, ...]) -> str:
    """Strings with knots in them, some warm, that hang where nobody stands."""
    strings = []
    for n in range(18):
        x = 20 + 17 * n
        length = next((row for row, room in enumerate(keep_free) if x in room), len(keep_free))
        end = 30 + 44 * length + 9 * (n % 3)
        strings.append(thin(f"M{x} 4V{end}"))
        for knot in range(14 + 7 * (n % 3), end - 4, 26):
            warm = (n + knot) % 4 == 1
            strings.append(dot(x, knot, 3.2, BRASS if warm else INK))
    return "\n".join(strings)


def _rope() -> str:
    rope = line("M4 62L316 14", 2) + ring(150, 34, 5, 2) + thin("M150 39V58M126 58L150 44L174 58")
    car = line("M92 58H222M98 58V146H214M98 146L94 152H220L214 146", 3) + thin("M98 100H140V146")
    return rope + car + thin("M4 170L36 148L58 164L84 158M236 168L268 140L316 172")


SCENES: dict[str, Callable[[], tuple[str, ...]]] = {
    "010-010": lambda: (
        _mountains(),
        _village(),
        _placed("stamm", 186, 164, 0.4),
        _placed("ullo", 104, 163, 0.18),
    ),
    "030-040": lambda: (_rope(), _placed("piano", 196, 146, 0.38), _placed("crank", 120, 99, 0.18)),
    "040-040": lambda: (
        _strings((range(150, 262), range(44, 128))),
        _placed("echo", 206, 174, 0.7),
        _placed("tibb", 86, 174, 0.3),
    ),
    "060-110": lambda: (
        _village(),
        thin("M76 40Q84 32 92 40Q100 32 108 40M196 28Q204 20 212 28"),
        _placed("ullo", 110, 164, 0.34),
        _placed("tibb", 196, 164, 0.42),
    ),
}


def _fund() -> str:
    """The mark of those who paid: a snail under the mountains. For the end credits."""
    peaks = line("M14 100L78 30L110 66L150 18L226 100Z", 5)
    return peaks + line("M96 100a24 24 0 0 1 48 0a16 16 0 0 1 -32 0a8 8 0 0 1 16 0", 4, BRASS)


def _framed(scene: str) -> str:
    """A scene in its camera frame."""
    return f"{scene}\n" + line("M3 3H317V177H3Z", 2)


def write(folder: Path) -> int:
    """Write the pictures; give how many there are."""
    folder.mkdir(parents=True, exist_ok=True)
    files = {code: page(BY_CODE[code].name, drawing) for code, drawing in DRAWN.items()}
    for puppet, (_, words) in BENCH.items():
        name = BY_CODE[puppet.partition("-")[0]].name
        files[puppet] = page(f"{name}, copy {puppet[-1]}. {words}", _on_the_bench(puppet))
    for shot, scene in SCENES.items():
        plain = SHOT_BY_CODE[shot].description.replace("*", "")
        files[shot] = page(f"{shot}. {plain}", _framed("\n".join(scene())), WIDE)
    files["valley-fund"] = page(FUND, _fund(), "0 0 240 120")
    for name, text in files.items():
        (folder / f"{name}.svg").write_text(text, encoding="utf-8", newline="\n")
    return len(files)
