"""Numbers, durations and instants as a person at the smoker would say them."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

from safety.judge.gather import Gathered
from safety.limits.model import (
    Combination,
    CoolLimit,
    DwellLimit,
    ExposureLimit,
    Limit,
    StatedLimit,
    StayLimit,
    ValueLimit,
    WithinLimit,
)
from safety.quantities import QUANTITIES
from safety.units import symbol

SECONDS_PER_MIN = 60
US_PER_MIN = SECONDS_PER_MIN * 10**6
SHOWN_PLACES = 2
MOST_PLACES = 30
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def plain(value: Fraction | Decimal | int) -> str:
    """Return a number with no more digits than it needs, two decimals at most."""
    return _rounded(Fraction(value), SHOWN_PLACES)


def _rounded(exact: Fraction, places: int) -> str:
    if exact.denominator == 1:
        return str(exact.numerator)
    digits = round(abs(exact) * 10**places)
    sign = "-" if exact < 0 and digits else ""
    whole, rest = divmod(digits, 10**places)
    return f"{sign}{whole}.{rest:0{places}d}".rstrip("0").rstrip(".")


def amount(value: Fraction | Decimal | int, unit: str) -> str:
    """Return a value and its unit ("145 °F", "3.5 %", "0.85")."""
    mark = symbol(unit)
    number = str(value) if isinstance(value, Decimal) else plain(value)
    return f"{number} {mark}" if mark else number


def amount_beside(value: Fraction, figure: Decimal, unit: str) -> str:
    """Return a value with as many decimals as tell it from the figure of a limit."""
    exact, other = Fraction(value), Fraction(figure)
    places = SHOWN_PLACES
    while exact != other and round(exact, places) == other and places < MOST_PLACES:
        places += 1
    mark = symbol(unit)
    number = _rounded(exact, places)
    return f"{number} {mark}" if mark else number


def minutes_of(duration_us: int | Fraction) -> Fraction:
    """Return a duration as minutes, exactly."""
    return Fraction(duration_us) / US_PER_MIN


def us_of_minutes(minutes: Decimal | int) -> Fraction:
    """Return minutes as microseconds, exactly."""
    return Fraction(minutes) * US_PER_MIN


def minutes(duration_us: int | Fraction | None) -> str:
    """Return a duration in minutes; without bound where it is None."""
    if duration_us is None:
        return "an unknown time"
    return f"{plain(minutes_of(duration_us))} min"


def span(shortest_us: int, longest_us: int | None) -> str:
    """Return a range of durations ("between 120 and 180 min", "30 min")."""
    if longest_us is None:
        return f"at least {minutes(shortest_us)}"
    if shortest_us == longest_us:
        return minutes(shortest_us)
    return f"between {plain(minutes_of(shortest_us))} and {minutes(longest_us)}"


class Clock:
    """Says instants as wall time where the batch was judged, with the day if needed."""

    def __init__(self, gathered: Gathered) -> None:
        self._zone = gathered.batch.judged_at.tzinfo
        starts = [each.start_us for each in gathered.windows.values()]
        firsts = [
            int(rows.at_us[0])
            for by_place in gathered.rows.values()
            for rows in by_place.values()
        ]
        known = [start for start in starts if start is not None] or firsts
        self._day = self._wall(min(known)).date() if known else None

    def _wall(self, at_us: int) -> datetime:
        return (_EPOCH + timedelta(microseconds=at_us)).astimezone(self._zone)

    def say(self, at_us: int) -> str:
        """Return "12:43", or "3 May 12:43" on another day than the first."""
        wall = self._wall(at_us)
        time = wall.strftime("%H:%M:%S" if wall.second else "%H:%M")
        if wall.date() == self._day:
            return time
        return f"{wall.day} {wall:%b} {time}"

    def between(self, start_us: int, end_us: int) -> str:
        """Return "12:43 to 14:43", with the day once where both are of one day."""
        start, end = self.say(start_us), self.say(end_us)
        if self._wall(start_us).date() == self._wall(end_us).date():
            end = end.rpartition(" ")[2]
        return f"{start} to {end}"


def asked_min(minutes: Decimal) -> str:
    """Return the minutes that a limit asks or allows ("30 min", "15 s")."""
    if 0 < minutes < 1:
        return f"{plain(Fraction(minutes) * SECONDS_PER_MIN)} s"
    return f"{plain(minutes)} min"


def side(kind: str, *, strict: bool) -> str:
    """Return the words for the side on which a value complies."""
    if kind.endswith("at_least"):
        return "above" if strict else "at or above"
    return "below" if strict else "at or below"


def title(limit: ValueLimit | CoolLimit | ExposureLimit) -> str:
    """Return the quantity as a subject of a sentence."""
    return QUANTITIES[limit.quantity].title


def state(limit: Limit) -> str:
    """Return what a limit asks, in words.

    Parameters
    ----------
    limit : Limit
        Of any kind.

    Returns
    -------
    str
        Without a full stop, in the limit's own unit.
    """
    match limit:
        case ValueLimit():
            return f"{title(limit)} {_of_value(limit)}"
        case CoolLimit():
            return (
                f"{title(limit)} from {amount(limit.from_value, limit.unit)} to "
                f"{amount(limit.to_value, limit.unit)} in {asked_min(limit.minutes)}"
            )
        case ExposureLimit():
            return " and ".join(_band(limit, i) for i in range(len(limit.bands)))
        case WithinLimit():
            return f"{limit.what} within {limit.days} days of {_date_name(limit.of)}"
        case StatedLimit():
            return f"{limit.what} on record"
        case Combination():
            joint = " or " if limit.kind == "any_of" else " and "
            return joint.join(_bracketed(member) for member in limit.limits)
    return limit.id


def _of_value(limit: ValueLimit) -> str:
    if isinstance(limit, DwellLimit):
        return f"{_value(limit)} for {asked_min(limit.minutes)} without a break"
    if isinstance(limit, StayLimit):
        return f"always {_value(limit)}{but_for(limit)}"
    return _value(limit)


def but_for(limit: StayLimit) -> str:
    """Return the words for an excursion that is allowed; nothing where none is."""
    if not limit.excursion_min:
        return ""
    return f", but for {asked_min(limit.excursion_min)} at a time"


def _value(limit: ValueLimit) -> str:
    return f"{side(limit.kind, strict=limit.strict)} {amount(limit.value, limit.unit)}"


def _band(limit: ExposureLimit, index: int) -> str:
    band = limit.bands[index]
    upper = "" if band.up_to is None else f" up to {amount(band.up_to, limit.unit)}"
    return f"{asked_min(band.minutes)} above {amount(band.above, limit.unit)}{upper}"


def _bracketed(member: Limit) -> str:
    words = state(member)
    return f"({words})" if isinstance(member, Combination) else words


def _date_name(name: str) -> str:
    step, dot, edge = name.rpartition(".")
    return f"the {edge} of {step}" if dot else name
