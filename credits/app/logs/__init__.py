"""Whole logs: joined, copied, packed, put back, verified."""
