"""Work as it is logged: entries, lines as they are typed, the day, the desk, day sheets."""
