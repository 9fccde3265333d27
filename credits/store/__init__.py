"""The store: the log of a production. The only room that knows SQL."""

from credits.model.log import Change
from credits.store.log import Log, LogWriter, open_log
from credits.store.production import back_up, create_production, find_production
from credits.store.reading import Position
from credits.store.settings import read_settings
from credits.store.verify import verify

__all__ = [
    "Change",
    "Log",
    "LogWriter",
    "Position",
    "back_up",
    "create_production",
    "find_production",
    "open_log",
    "read_settings",
    "verify",
]
