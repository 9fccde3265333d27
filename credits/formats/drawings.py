"""SVG drawings by allow-list: shapes, texts and colours; nothing that runs, fetches or tells."""

from __future__ import annotations

import re
from xml.etree import ElementTree
from xml.parsers import expat

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
LARGEST_DRAWING = 5_000_000  # bytes
DEEPEST = 100
MOST_ELEMENTS = 100_000
MOST_DRAWN = 200_000
"""Elements as they are drawn: what is used again counts each time."""
MOST_UNFOLDED = 4 * LARGEST_DRAWING
"""Characters, with what stands for others written out."""


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


# Elements and attributes of SVG 1.1 and 2 that draw, and no others.
_ELEMENTS = _words(
    """
    svg g defs symbol use switch title style path rect circle ellipse line polyline polygon text
    tspan textPath linearGradient radialGradient stop pattern clipPath mask marker filter feBlend
    feColorMatrix feComponentTransfer feComposite feConvolveMatrix feDiffuseLighting
    feDisplacementMap feDistantLight feDropShadow feFlood feFuncA feFuncB feFuncG feFuncR
    feGaussianBlur feMerge feMergeNode feMorphology feOffset fePointLight feSpecularLighting
    feSpotLight feTile feTurbulence
    """
)
_PROPERTIES = _words(
    """
    alignment-baseline baseline-shift clip-path clip-rule color color-interpolation
    color-interpolation-filters color-rendering direction display dominant-baseline
    enable-background fill fill-opacity fill-rule filter flood-color flood-opacity font font-family
    font-size font-size-adjust font-stretch font-style font-variant font-weight image-rendering
    isolation letter-spacing lighting-color line-height marker marker-end marker-mid marker-start
    mask mask-type mix-blend-mode opacity overflow paint-order shape-rendering stop-color
    stop-opacity stroke stroke-dasharray stroke-dashoffset stroke-linecap stroke-linejoin
    stroke-miterlimit stroke-opacity stroke-width text-align text-anchor text-decoration
    text-rendering transform transform-box transform-origin vector-effect visibility white-space
    word-spacing writing-mode
    """
)
_ATTRIBUTES = _PROPERTIES | _words(
    """
    amplitude azimuth baseFrequency bias class clipPathUnits cx cy d diffuseConstant divisor dx dy
    edgeMode elevation exponent filterUnits fr fx fy gradientTransform gradientUnits height id in
    in2 intercept k1 k2 k3 k4 kernelMatrix kernelUnitLength lengthAdjust limitingConeAngle
    markerHeight markerUnits markerWidth maskContentUnits maskUnits method mode numOctaves offset
    operator order orient pathLength patternContentUnits patternTransform patternUnits points
    pointsAtX pointsAtY pointsAtZ preserveAspectRatio primitiveUnits r radius refX refY result
    rotate rx ry scale seed slope spacing specularConstant specularExponent spreadMethod startOffset
    stdDeviation stitchTiles style surfaceScale systemLanguage tableValues targetX targetY
    textLength type values version viewBox width x x1 x2 xChannelSelector y y1 y2
    yChannelSelector z
    """
)
_NAMES = frozenset({"id", "class"})  # whatever stands there is a name and nothing else
# What is not SVG's own but draws its children; it becomes a group.
_GROUPS = frozenset({"a"})
_INSIDE = re.compile(r"url\(\s*(?:\"#[^\"\\()]*\"|'#[^'\\()]*'|#[^\"'\\()\s]*)\s*\)", re.IGNORECASE)
_LONGEST_FUNCTION = 60  # letters and spaces before its bracket
_WORD_AT_END = re.compile(r"[-\w]*\Z")
_FUNCTIONS = _words(
    """
    rgb rgba hsl hsla matrix translate translatex translatey scale scalex scaley rotate skewx skewy
    blur brightness contrast drop-shadow grayscale hue-rotate invert opacity saturate sepia calc
    """
)
_VALUE = re.compile(r"[-\w\s.,#%+*'\"()!/]*")
_SELECTOR = re.compile(r"[-\w\s.,#*>+~:]+")


class UnreadablePictureError(ValueError):
    """The bytes are no picture of the kind that their name says."""


def bare_drawing(content: bytes) -> bytes:
    """Return a drawing with what is drawn, and bare of all else. Raises UnreadablePictureError."""
    if len(content) > LARGEST_DRAWING:
        raise UnreadablePictureError(f"it has more than {LARGEST_DRAWING // 1_000_000} MB")
    root = _DrawingReader().read(content)
    if _name(root.tag) != "svg":
        raise UnreadablePictureError("it is no SVG drawing")
    bare = _bare(root)
    _refuse_endless(bare)
    ElementTree.register_namespace("", SVG)
    ElementTree.register_namespace("xlink", XLINK)
    return bytes(ElementTree.tostring(bare, encoding="utf-8", xml_declaration=False))


class _DrawingReader:
    """Reads XML within limits, which the usual reader does not know."""

    def __init__(self) -> None:
        self._builder = ElementTree.TreeBuilder()
        self._depth = self._elements = self._unfolded = 0

    def read(self, content: bytes) -> ElementTree.Element:
        parser = expat.ParserCreate(None, "}")
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._text
        try:
            parser.Parse(content, True)
            return self._builder.close()
        except (expat.ExpatError, AssertionError, ValueError, LookupError) as error:
            raise UnreadablePictureError(str(error)) from error

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        self._elements += 1
        if self._depth > DEEPEST:
            raise UnreadablePictureError(f"it is nested more than {DEEPEST} deep")
        if self._elements > MOST_ELEMENTS:
            raise UnreadablePictureError(f"it has more than {MOST_ELEMENTS:,} elements")
        self._unfold(sum(map(len, attributes.values())))
        self._builder.start(tag, attributes)

    def _end(self, tag: str) -> None:
        self._depth -= 1
        self._builder.end(tag)

    def _text(self, text: str) -> None:
        self._unfold(len(text))
        self._builder.data(text)

    def _unfold(self, letters: int) -> None:
        self._unfolded += letters
        if self._unfolded > MOST_UNFOLDED:
            raise UnreadablePictureError("it unfolds to more than can be read")


def _name(tag: str) -> str:
    """Return the name of an element of SVG; empty: it is of something else."""
    space, _, name = tag.rpartition("}")
    return name if space.lstrip("{") in ("", SVG) else ""


def _bare(element: ElementTree.Element) -> ElementTree.Element:
    name = _name(element.tag)
    bare = ElementTree.Element(f"{{{SVG}}}{'g' if name in _GROUPS else name}", _kept(element))
    bare.text, bare.tail = element.text, element.tail
    if name == "style":
        bare.text = _style_sheet("".join(element.itertext()))
        return bare
    last: ElementTree.Element | None = None
    for child in element:
        if _name(child.tag) in _ELEMENTS | _GROUPS:
            last = _bare(child)
            bare.append(last)
        elif last is None:  # what stands behind it stays
            bare.text = (bare.text or "") + (child.tail or "")
        else:
            last.tail = (last.tail or "") + (child.tail or "")
    return bare


def _kept(element: ElementTree.Element) -> dict[str, str]:
    kept = {}
    for attribute, said in element.attrib.items():
        space, _, name = attribute.rpartition("}")
        value = said.strip()
        if name == "href" and space in ("", XLINK):
            if value.startswith("#") and _name(element.tag) not in _GROUPS:
                kept[f"{{{XLINK}}}href" if space else "href"] = value
        elif space or name not in _ATTRIBUTES:
            continue
        elif name == "style":
            kept[name] = _declarations(_without_comments(value))
        elif name in _NAMES or (_is_inside(value) if name in _PROPERTIES else ":" not in value):
            kept[name] = value
    return kept


def _function_before(text: str, bracket: int) -> str:
    """Return the name before a bracket, in a time that the length of the text has no part in."""
    before = text[max(0, bracket - _LONGEST_FUNCTION) : bracket].rstrip()
    found = _WORD_AT_END.search(before)
    return found[0].lower() if found else ""


def _without_comments(text: str) -> str:
    """Return a text of CSS without its comments; what is never closed is one to the end."""
    kept, at = [], 0
    while (opens := text.find("/*", at)) >= 0:
        kept.append(text[at:opens])
        closes = text.find("*/", opens + 2)
        if closes < 0:
            return "".join(kept)
        at = closes + 2
    return "".join([*kept, text[at:]])


def _is_inside(value: str) -> bool:
    """Whether a value of a property names nothing but what is in the drawing."""
    left = _INSIDE.sub(" ", value)
    functions = {_function_before(left, match.start()) for match in re.finditer(r"\(", left)}
    return bool(_VALUE.fullmatch(left)) and "//" not in left and functions <= _FUNCTIONS


def _declarations(text: str) -> str:
    """Return the declarations of a style that only draw."""
    kept = []
    for declaration in text.split(";"):
        name, _, value = (part.strip() for part in declaration.partition(":"))
        if name.lower() in _PROPERTIES and value and _is_inside(value):
            kept.append(f"{name}: {value}")
    return "; ".join(kept)


def _style_sheet(text: str) -> str:
    """Return the rules of a style sheet that only draw.

    A rule that begins with @ goes with everything in it. A backslash may spell any word in another
    way, so a sheet with one goes as a whole.
    """
    plain = _without_comments(text)
    if "\\" in plain or "<" in plain:
        return ""
    rules, at = [], 0
    while (opens := plain.find("{", at)) >= 0:
        selector = plain[at:opens].rpartition(";")[2].strip()
        closes = plain.find("}", opens)
        inner = plain.find("{", opens + 1)
        if closes < 0:
            break
        if 0 <= inner < closes:  # rules within a rule
            at = _end_of_block(plain, opens)
            continue
        kept = _declarations(plain[opens + 1 : closes])
        if kept and _SELECTOR.fullmatch(selector):
            rules.append(f"{selector} {{ {kept} }}")
        at = closes + 1
    return "\n".join(rules)


def _end_of_block(text: str, opens: int) -> int:
    depth = 0
    for match in re.finditer("[{}]", text[opens:]):
        depth += 1 if match[0] == "{" else -1
        if not depth:
            return opens + match.end()
    return len(text)


def _refuse_endless(root: ElementTree.Element) -> None:
    """Raise UnreadablePictureError where parts are used again and again, or within themselves."""
    by_id: dict[str, ElementTree.Element] = {}
    for element in root.iter():
        by_id.setdefault(element.get("id", ""), element)
    drawn: dict[int, int] = {}
    at_work: set[int] = set()

    def count(element: ElementTree.Element, depth: int) -> int:
        known = drawn.get(id(element))
        if known is not None:
            return known
        if id(element) in at_work or depth > 4 * DEEPEST:
            raise UnreadablePictureError("it is drawn within itself")
        at_work.add(id(element))
        total = 1 + sum(count(child, depth + 1) for child in element)
        if _name(element.tag) == "use":
            used = element.get("href") or element.get(f"{{{XLINK}}}href") or ""
            if (target := by_id.get(used[1:])) is not None and used:
                total += count(target, depth + 1)
        if total > MOST_DRAWN:
            raise UnreadablePictureError(f"it draws more than {MOST_DRAWN:,} elements")
        at_work.discard(id(element))
        drawn[id(element)] = total
        return total

    count(root, 0)
