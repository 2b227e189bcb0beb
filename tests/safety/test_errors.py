"""Errors say what is wrong in one sentence, carry its parts, and travel whole."""

import copy
import pickle

import pytest

from safety.errors import (
    DataError,
    InputError,
    LimitFileError,
    OutOfRange,
    OutOfSpan,
    ProcessFileError,
    Refused,
    SafetyError,
    UnknownName,
    WrongUnit,
)

EXAMPLES = [
    (
        LimitFileError("a.toml", "limit 'x'", "has no value.", "Give one."),
        "a.toml, limit 'x': has no value. Give one.",
    ),
    (
        ProcessFileError("b.toml", "step 'y'", "is unknown.", "Correct it."),
        "b.toml, step 'y': is unknown. Correct it.",
    ),
    (
        UnknownName("limit", "x", ("y", "z")),
        "There is no limit called 'x'. Known: y, z.",
    ),
    (UnknownName("limit", "x"), "There is no limit called 'x'."),
    (
        WrongUnit("salt", "degF", ("percent", "ppm")),
        "degF cannot measure salt; use percent or ppm.",
    ),
    (
        OutOfRange("brine", "120 °F", "from 28 to 100 °F"),
        (
            "The formula holds for brine from 28 to 100 °F, not for 120 °F; it gives no "
            "estimate there."
        ),
    ),
    (
        OutOfSpan("core temperature", "1450", "°F", "-60 to 230 °F"),
        (
            "1450 °F cannot be a core temperature; expected -60 to 230 °F. Check the "
            "decimal point and the unit."
        ),
    ),
    (
        Refused("/readings/0/unit", "'K'", "degF, degC"),
        "/readings/0/unit: found 'K'; allowed is degF, degC.",
    ),
    (
        Refused("", "nothing", "a JSON document"),
        "the file: found nothing; allowed is a JSON document.",
    ),
]


@pytest.mark.parametrize(("error", "words"), EXAMPLES)
def test_error_says_what_is_wrong(error, words):
    assert str(error) == words


@pytest.mark.parametrize("error", [error for error, _ in EXAMPLES])
@pytest.mark.parametrize(
    "send",
    [
        lambda error: pickle.loads(pickle.dumps(error)),  # noqa: S301 - our own bytes
        copy.copy,
    ],
)
def test_error_sent_to_another_process_is_the_same(error, send):
    again = send(error)
    assert type(again) is type(error)
    assert str(again) == str(error)
    assert vars(again) == vars(error)
    assert again.args == error.args


@pytest.mark.parametrize(
    ("kind", "parents"),
    [
        (LimitFileError, (DataError, SafetyError)),
        (ProcessFileError, (DataError, SafetyError)),
        (UnknownName, (SafetyError, LookupError)),
        (WrongUnit, (InputError, SafetyError, ValueError)),
        (OutOfSpan, (InputError, SafetyError, ValueError)),
        (OutOfRange, (InputError, SafetyError, ValueError)),
        (Refused, (InputError, SafetyError, ValueError)),
    ],
)
def test_errors_are_one_tree(kind, parents):
    assert all(issubclass(kind, parent) for parent in parents)


def test_wrong_input_is_never_taken_for_a_wrong_file_of_ours():
    assert not issubclass(InputError, DataError)
    assert not issubclass(DataError, ValueError)
