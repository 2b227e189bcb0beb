"""Codes of packages: a slip of one letter, or of two neighbours, is always seen."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches import lotcode
from batches.lotcode import ALPHABET, code_of, is_code, shown, tidied

DAYS = st.integers(0, len(ALPHABET) ** lotcode.DAY_LETTERS - 1)
NUMBERS = st.integers(0, lotcode.MOST_A_DAY - 1)
CODES = st.builds(
    lambda days, number: code_of(lotcode.FIRST_DAY + timedelta(days=days), number),
    DAYS,
    NUMBERS,
)


def test_alphabet_is_prime_and_has_no_letters_that_look_alike():
    count = len(ALPHABET)
    assert len(set(ALPHABET)) == count
    assert all(count % divisor for divisor in range(2, count))
    assert count > lotcode.LENGTH  # so that each place has a weight of its own
    assert not set("0O1IL2Z5S8BUVQ") & set(ALPHABET) - {"8"}
    assert "B" not in ALPHABET


@given(
    code=CODES,
    place=st.integers(0, lotcode.LENGTH - 1),
    letter=st.sampled_from(ALPHABET),
)
def test_one_wrong_letter_never_fits(code, place, letter):
    assert is_code(code)
    wrong = code[:place] + letter + code[place + 1 :]
    assert is_code(wrong) == (wrong == code)


@given(code=CODES, place=st.integers(0, lotcode.LENGTH - 2))
def test_two_neighbours_changed_about_never_fit(code, place):
    one, other = code[place], code[place + 1]
    wrong = code[:place] + other + one + code[place + 2 :]
    assert is_code(wrong) == (one == other)


@given(first=st.tuples(DAYS, NUMBERS), second=st.tuples(DAYS, NUMBERS))
def test_no_two_packings_have_one_code(first, second):
    codes = [
        code_of(lotcode.FIRST_DAY + timedelta(days=days), number)
        for days, number in (first, second)
    ]
    assert (codes[0] == codes[1]) == (first == second)


def test_code_is_read_as_people_write_it():
    code = code_of(date(2025, 6, 5), 0)
    assert tidied(f" {shown(code).lower()} ") == code
    assert shown("RL-01") == "RL-01"
    assert not is_code("RL-01")
    assert not is_code("")


@pytest.mark.parametrize(
    ("day", "number"),
    [
        (date(1999, 12, 31), 0),
        (date(2025, 6, 5), -1),
        (date(2025, 6, 5), lotcode.MOST_A_DAY),
        (date(2900, 1, 1), 0),
    ],
)
def test_packing_out_of_reach_has_no_code(day, number):
    with pytest.raises(ValueError, match="There is no code"):
        code_of(day, number)
