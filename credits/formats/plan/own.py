"""What of a plan stands in tables of its own: its own lines, pictures, how people are credited."""

from __future__ import annotations

from pathlib import PurePath

from credits.billing import plan
from credits.formats.plan import write
from credits.formats.plan.table import TableReader
from credits.text import fold_words

PICTURE_LINES = 3
PICTURE_KINDS = (".png", ".jpg", ".jpeg", ".svg")


def _readers(of: TableReader, key: str, text: str) -> list[TableReader]:
    return [
        TableReader(table, at, of.places, of.books, of.problems)
        for table, at in of.tables(key, text)
    ]


def read_lines(section: TableReader) -> tuple[plan.OwnLine, ...]:
    """Read the lines of the plan's own in a section."""
    return tuple(map(_line, _readers(section, "lines", "name")))


def _line(reader: TableReader) -> plan.OwnLine:
    reader.check_keys(write.LINE_KEYS, "a line")
    name, after = reader.text("name", lines=True), reader.text("after")
    if not name and "name" not in reader.table:
        reader.add("name", "a line needs a name", 'Write name = "Nether Hum Bakery".')
    place = reader.word("place", plan.LinePlace)
    if after and place is not None:
        reader.add("place", "does not go with after", "Take one of the two away.")
    return plan.OwnLine(
        name=name.strip("\n"),
        named=reader.word("kind", plan.NamedKind) or plan.NamedKind.OTHER,
        role=reader.text("role"),
        note=reader.text("note"),
        files_under=reader.text("sort_as"),
        after=(reader.code("after", after) or "") if after else "",
        place=place or plan.LinePlace.SORTED,
        confirmed_on=reader.day("confirmed_on"),
    )


def read_pictures(section: TableReader) -> tuple[plan.Picture, ...]:
    """Read which pictures stand in a section."""
    return tuple(map(_picture, _readers(section, "pictures", "file")))


def _picture(reader: TableReader) -> plan.Picture:
    reader.check_keys(write.PICTURE_KEYS, "a picture")
    file, shows = reader.text("file"), reader.text("shows")
    if not file or PurePath(file).name != file or not file.lower().endswith(PICTURE_KINDS):
        hint = f'Write file = "fund.svg": {", ".join(PICTURE_KINDS)}, of the folder pictures.'
        reader.add("file", "is no picture of the production's folder", hint)
    if not shows:
        hint = 'Write shows = "The mark of the Valley Fund".'
        reader.add("shows", "what the picture shows is not said", hint)
    most, what = plan.MOST_PICTURE_LINES, "height in lines"
    return plan.Picture(
        file=file, shows=shows, lines=reader.whole("lines", PICTURE_LINES, 1, most, what)
    )


def read_name_rules(top: TableReader) -> tuple[plan.NameRule, ...]:
    """Read how people are credited where it is not as in the list of people."""
    return tuple(map(_name_rule, _readers(top, write.CREDITED, "person")))


def _name_rule(reader: TableReader) -> plan.NameRule:
    reader.check_keys(write.CREDITED_KEYS, "how somebody is credited")
    person, printed_as = reader.text("person"), reader.text("as", lines=True)
    printed = "printed" not in reader.table or reader.flag("printed")
    if not person:
        reader.add("person", "does not say who", 'Write person = "ana".')
    says = ("as", "printed", "note", "unbroken")
    if reader.table.keys().isdisjoint(says):
        hint = 'Write as = "A. Berg", note = "...", unbroken = true, or printed = false.'
        reader.add("person", "does not say how the person is credited", hint)
    elif not printed:
        for key in ("as", "note", "unbroken", "confirmed_on"):
            if key in reader.table:
                reader.add(key, "does not go with printed = false", "Take one of the two away.")
    elif "confirmed_on" in reader.table and not printed_as:
        reader.add("confirmed_on", "is of no other name", 'Write as = "A. Berg" beside it.')
    return plan.NameRule(
        person=(reader.code("person", person) or "") if person else "",
        printed_as=printed_as,
        printed=printed,
        note=reader.text("note"),
        unbroken=reader.flag("unbroken"),
        confirmed_on=reader.day("confirmed_on"),
        headings=tuple(dict.fromkeys(map(fold_words, reader.list_of("headings")))),
        crafts=reader.codes("crafts"),
        job_titles=reader.codes("job_titles"),
        characters=reader.codes("characters"),
    )
