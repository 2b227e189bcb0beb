"""What every write asks before it writes, each refusal a sentence for the person."""

import re
from datetime import datetime, timedelta, tzinfo
from decimal import Decimal

from batches import roles
from batches.errors import RecordError
from batches.models import Instrument, Member, Producer
from safety.controls import CONTROL_POINTS, STEPS
from safety.errors import InputError, OutOfSpan, UnknownName, WrongUnit
from safety.facts import fact
from safety.quantities import QUANTITIES

CLOCKS_DIFFER = timedelta(minutes=2)  # own figure: a phone's clock may be ahead of ours
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
_THOUSANDS = re.compile(
    r"-?[1-9][0-9]*,[0-9]{3}"
)  # "1,450": a comma nobody can be sure of
_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_RESERVED_CODES = {"start", "receive", "add", "stock"}  # words of our own addresses


def check_member(by: Member, producer: Producer) -> None:
    """Refuse a person of another producer, and one who may not record."""
    check_may(by, producer, "record")


def check_may(by: Member, producer: Producer, act: str) -> None:
    """Refuse a person of another producer, and one whose role does not allow this."""
    if by.producer_id != producer.pk:
        raise RecordError(
            "", f"{by.name} is not a member of {producer.name}.", "not-allowed"
        )
    if by.ended_at is not None:
        raise RecordError(
            "", f"{by.name} is no longer a member of {producer.name}.", "not-allowed"
        )
    if not by.may(act):
        allowed = " or ".join(role for role in roles.ROLES if roles.may(role, act))
        raise RecordError(
            "",
            f"{by.name} ({by.get_role_display().lower()}) may not do this. "
            f"{roles.ACTS[act].refusal} Sign in as {allowed}.",
            "not-allowed",
        )


def check_owner(by: Member, producer: Producer) -> None:
    """Refuse anybody but an owner of this producer."""
    check_may(by, producer, "plan")


def check_own(thing: object, producer: Producer, field: str, what: str) -> None:
    """Refuse a row of another producer, in the words used for one that is not there."""
    if getattr(thing, "producer_id", None) != producer.pk:
        raise RecordError(field, f"There is no such {what}.", "not-found")


def check_aware(field: str, instant: datetime) -> None:
    """Refuse an instant whose place on earth is unknown."""
    if instant.tzinfo is None or instant.utcoffset() is None:
        raise RecordError(
            field, f"{instant} has no time zone. Say in which zone it was.", "no-zone"
        )


def check_past(
    field: str, instant: datetime, *, at: datetime, zone: tzinfo | None = None
) -> None:
    """Refuse an instant that lies ahead of the entry by more than clocks differ."""
    check_aware(field, instant)
    if instant > at + CLOCKS_DIFFER:
        raise RecordError(
            field,
            f"{wall(instant, zone)} is in the future: it is now {wall(at, zone)}. "
            "Check the day and the hour.",
            "future",
        )


def wall(instant: datetime, zone: tzinfo | None = None) -> str:
    """Return an instant as people at the premises would say it."""
    return f"{instant.astimezone(zone or instant.tzinfo):%Y-%m-%d %H:%M}"


def number(field: str, typed: Decimal | int | str) -> Decimal:
    """Return what was typed as a decimal with the same digits, or refuse it."""
    if isinstance(typed, Decimal | int) and not isinstance(typed, bool):
        text = format(Decimal(typed), "f")
    else:
        text = str(typed).strip().replace("\N{MINUS SIGN}", "-")
    if _THOUSANDS.fullmatch(text):
        raise RecordError(
            field,
            f"{text!r} can be read in two ways. Write it with a point, or without "
            "the comma.",
            "not-a-number",
        )
    if text.count(",") == 1 and "." not in text:
        text = text.replace(",", ".")
    if not _NUMBER.fullmatch(text):
        raise RecordError(
            field,
            f"{str(typed)!r} is not a number. Type digits and one point, like 145.0.",
            "not-a-number",
        )
    return Decimal(text)


def positive(field: str, typed: Decimal | int | str) -> Decimal:
    """Return what was typed as a decimal above zero, or refuse it."""
    value = number(field, typed)
    if value <= 0:
        raise RecordError(
            field, f"{value} is not above zero. Check what was typed.", "not-positive"
        )
    return value


def check_text(field: str, text: str, what: str) -> str:
    """Return the text without blanks around it, or refuse it if nothing is left."""
    stripped = text.strip()
    if not stripped:
        raise RecordError(field, f"Say {what}.", "blank")
    return stripped


def check_code(field: str, code: str, what: str) -> str:
    """Return a code that can be part of an address, or refuse it."""
    stripped = check_text(field, code, f"the code of the {what}")
    if not _CODE.fullmatch(stripped) or stripped.lower() in _RESERVED_CODES:
        raise RecordError(
            field,
            f"{stripped!r} cannot be a code. Use letters, digits, points and dashes, "
            "like 2605-02.",
            "bad-code",
        )
    return stripped


def check_step(step: str) -> str:
    """Return the title of a step, or refuse one that does not exist."""
    if step not in STEPS:
        raise RecordError(
            "step",
            f"There is no step called {step!r}. Steps are: {', '.join(STEPS)}.",
            "unknown-step",
        )
    return CONTROL_POINTS[step].title


def check_fact(name: str, value: str) -> None:
    """Refuse a fact that does not exist or cannot have this value; blank is unknown."""
    if not value:
        return
    try:
        fact(name).check(value)
    except (UnknownName, InputError) as error:
        raise RecordError(name, str(error), "unknown-fact") from error


def check_plausible(
    quantity: str, value: Decimal, unit: str, *, field: str = "value"
) -> None:
    """Refuse a figure that this quantity cannot have, and a unit that cannot fit."""
    if quantity not in QUANTITIES:
        raise RecordError(
            "quantity",
            f"There is no quantity called {quantity!r}. "
            f"Quantities are: {', '.join(QUANTITIES)}.",
            "unknown-quantity",
        )
    try:
        QUANTITIES[quantity].check_plausible(value, unit)
    except WrongUnit as error:
        raise RecordError("unit", _sentence(error), "wrong-unit") from error
    except OutOfSpan as error:
        raise RecordError(field, _sentence(error), "implausible") from error


def check_instrument(
    instrument: Instrument | None, producer: Producer, quantity: str
) -> None:
    """Refuse an instrument of another producer, or one that measures something else."""
    if instrument is None:
        return
    check_own(instrument, producer, "instrument", "instrument")
    kind = QUANTITIES[quantity].instrument
    if instrument.measures != kind:
        raise RecordError(
            "instrument",
            f"{instrument.code} measures {instrument.measures}, which is not "
            f"{QUANTITIES[quantity].title.lower()}. Choose another instrument.",
            "wrong-instrument",
        )


def _sentence(error: Exception) -> str:
    text = str(error)
    return text[:1].upper() + text[1:]
