"""A log on a server: made there, its rights given, and taken away again where that fails."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from importlib import import_module
from pathlib import Path

from credits.errors import Finding, WrongCall
from credits.store.engines import table_words
from credits.store.engines.address import Address
from credits.store.engines.driver import Driver, table_names
from credits.store.place import opened_log
from credits.store.schema.records import APPEND_ONLY, WITH_HISTORY
from credits.store.schema.triggers import make_triggers


@contextmanager
def new_log(
    address: Address, fill: Callable[[Driver], None], *, guarded: bool = True
) -> Iterator[Driver]:
    """Make the tables of a log in a database that has none, fill them, and let others in.

    Yields what it is read through; it stands when the block ends well, else nothing is there.
    Whoever connects is the owner.
    guarded: whether the triggers are there when ``fill`` writes; else it puts rows in as they are.
    Raises WrongCall where a log is there already, LogUnusable.
    """
    with table_words.in_words(Path(address.name)), closing(opened_log(address)) as driver:
        postgres = import_module("credits.store.engines.postgres")
        of_triggers = import_module("credits.store.engines.postgres_triggers")
        driver.execute("BEGIN")
        try:
            postgres.require_room(driver)
            if table_names(driver):
                what = "holds tables already: a log, or something else"
                hint = "Name an empty database, or a schema of its own."
                raise WrongCall(Finding(what, hint, value=address.name))
            for name in of_triggers.FUNCTIONS:
                driver.execute(of_triggers.function_text(name))
            table_words.make_tables(driver)
            if guarded:
                make_triggers(driver)
            fill(driver)
            if not guarded:
                make_triggers(driver)
            give_rights(driver)
            yield driver
            driver.commit()
        except BaseException:
            driver.rollback()
            raise


def give_rights(driver: Driver) -> None:
    """Let those who log do what they need to, in the tables that are there. Raises ServerError."""
    postgres = import_module("credits.store.engines.postgres")
    postgres.grant(driver, WITH_HISTORY, APPEND_ONLY)
