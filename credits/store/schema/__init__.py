"""The log described: its tables, triggers, statements and versions."""
