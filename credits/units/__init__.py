"""Frames, film time and rounding: exact arithmetic that everything else stands on."""
