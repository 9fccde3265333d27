"""The log of who made each character's performance, and everything that comes out of it."""

__version__ = "0.1.0"
