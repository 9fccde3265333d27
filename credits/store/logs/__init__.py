"""Whole logs: joined, copied, put back, made on a server."""
