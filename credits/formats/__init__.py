"""Files in and out: tables, cuts, credit plans, deliverables, open standards."""
