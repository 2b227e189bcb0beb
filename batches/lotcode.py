"""The codes of packed food: no letters that look alike, and one that checks the others.

A code is five letters and a sixth that checks them, like 4HD3-3K. The first three count the
day of packing, the next two the packings of that day. The alphabet has a prime number of
letters and each place its own weight: a wrong letter, or two neighbours changed about,
never gives another code that fits.
"""

from datetime import date

ALPHABET = "346789ACDEFGHJKMNPRTWXY"  # own choice: no 0 O, 1 I L, 2 Z, 5 S, B, Q, U V
FIRST_DAY = date(2000, 1, 1)
DAY_LETTERS, NUMBER_LETTERS = 3, 2
MOST_A_DAY = len(ALPHABET) ** NUMBER_LETTERS
LENGTH = DAY_LETTERS + NUMBER_LETTERS + 1
CUT = 4  # where the dash stands when a person reads it


def code_of(day: date, number: int) -> str:
    """Return the code of the packing with that number, from 0, of that day."""
    days = (day - FIRST_DAY).days
    if not 0 <= days < len(ALPHABET) ** DAY_LETTERS or not 0 <= number < MOST_A_DAY:
        raise ValueError(f"There is no code for packing {number} of {day}.")
    letters = _letters(days, DAY_LETTERS) + _letters(number, NUMBER_LETTERS)
    return letters + _check(letters)


def tidied(typed: str) -> str:
    """Return a typed code without dashes and blanks, in capitals."""
    return "".join(typed.split()).replace("-", "").upper()


def shown(code: str) -> str:
    """Return a code as labels print it."""
    return f"{code[:CUT]}-{code[CUT:]}" if len(code) == LENGTH else code


def is_code(code: str) -> bool:
    """Say whether the letters fit their check letter."""
    return (
        len(code) == LENGTH
        and all(letter in ALPHABET for letter in code)
        and _check(code[:-1]) == code[-1]
    )


def _letters(value: int, length: int) -> str:
    found = []
    for _ in range(length):
        value, rest = divmod(value, len(ALPHABET))
        found.append(ALPHABET[rest])
    return "".join(reversed(found))


def _check(letters: str) -> str:
    weighed = sum(
        weight * ALPHABET.index(letter) for weight, letter in enumerate(letters, 2)
    )
    return ALPHABET[-weighed % len(ALPHABET)]
