"""What a server says, for whoever words what an engine says.

SQLite's own errors are the words that the store knows. What another engine refuses is raised as
these by its driver; what only a server can say is one of these errors, with its words.
"""

from __future__ import annotations

import sqlite3

from credits.errors import LogUnusable


class ServerError(LogUnusable, sqlite3.OperationalError):
    """What a server says: that it cannot be reached, that something may not be done there."""


class ConnectionLostError(ServerError):
    """The connection to the server is gone; what was begun is undone there."""


class ServerBusyError(ServerError):
    """Another program writes, and went on for longer than it was waited for."""
