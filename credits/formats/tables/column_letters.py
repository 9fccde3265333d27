"""The columns of a sheet, by number and by letters."""

from __future__ import annotations


def column_number(letters: str) -> int:
    """Return the number of a column, counted from 1: 27 for AA."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def column_letters(number: int) -> str:
    """Return the letters of a column counted from 1: AA for 27."""
    letters = ""
    while number:
        number, letter = divmod(number - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return letters
