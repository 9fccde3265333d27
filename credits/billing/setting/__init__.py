"""How the credits are set: rows, pages, the roll and its running time."""
