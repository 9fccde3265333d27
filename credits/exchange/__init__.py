"""Everything that comes in from files and goes out to them: tables, the cut, deliverables."""
