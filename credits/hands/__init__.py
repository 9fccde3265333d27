"""Everybody behind a frame, and how much of the film each reaches."""
