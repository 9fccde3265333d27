"""Everything that is computed from one reading of the log."""
