"""Puts instants, amounts, limits and findings into the words that documents print."""

from collections.abc import Callable, Mapping
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from safety.controls import CONTROL_POINTS
from safety.judge.finding import Finding
from safety.limits.model import (
    Band,
    Combination,
    CoolLimit,
    DwellLimit,
    ExposureLimit,
    Limit,
    Published,
    StatedLimit,
    StayLimit,
    ValueLimit,
    WithinLimit,
)
from safety.quantities import QUANTITIES
from safety.units import convert, convert_difference, symbol

OTHER = {"degF": "degC", "degC": "degF"}
AS_MINUTES, AS_HOURS = 600, 2880  # up to these many minutes a length is said so
INSTRUMENT_LIMIT = "each instrument checked, and its error within its tolerance"
_BASES = {
    "memory": "from memory: confirm it",
    "derived": "derived from it",
    "computed": "computed from it",
    "own": "own figure, published by nobody",
}
_INTERVALS = {
    "own": " (own figure)",
    "plan": " (as the plan says)",
}

# ------------------------------------------------------------ instants


def moment(at: datetime, zone: ZoneInfo) -> str:
    """Return an instant as date and wall time of the premises."""
    wall = at.astimezone(zone)
    return f"{wall.day} {wall:%b %Y %H:%M}"


def clock(at: datetime, zone: ZoneInfo, beside: datetime) -> str:
    """Return an instant as wall time, with its date where that of ``beside`` differs."""
    wall = at.astimezone(zone)
    if wall.date() == beside.astimezone(zone).date():
        return f"{wall:%H:%M}"
    return moment(at, zone)


def span(minutes: float) -> str:
    """Return a length of time in the unit in which people say it."""
    if 0 < minutes < 1:
        return f"{number(minutes * 60, 0)} s"
    whole = round(minutes)
    hours, rest = divmod(whole, 60)
    days, left = divmod(hours, 24)
    if whole <= AS_MINUTES:
        return f"{number(minutes)} min"
    if whole <= AS_HOURS:
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    return f"{days} days {left} h" if left else f"{days} days"


# ------------------------------------------------------------ amounts


def number(value: Decimal | Fraction | float, digits: int = 1) -> str:
    """Return a figure as written; only what is not a decimal is rounded."""
    if isinstance(value, Decimal):
        return f"{value:f}".replace("-", "−")
    shown = f"{float(value):.{digits}f}"
    short = shown.rstrip("0").rstrip(".") if "." in shown else shown
    return short.replace("-", "−")


def amount(value: Decimal | Fraction | float, unit: str) -> str:
    """Return a figure and its unit."""
    sign = symbol(unit)
    return f"{number(value)} {sign}" if sign else number(value)


def both(value: Decimal, unit: str, also: Mapping[str, Decimal] | None = None) -> str:
    """Return a temperature in both units: as printed where it is, else converted."""
    other = OTHER.get(unit)
    if other is None:
        return amount(value, unit)
    return f"{amount(value, unit)} ({in_other(value, unit, also)} {symbol(other)})"


def in_other(
    value: Decimal, unit: str, also: Mapping[str, Decimal] | None = None
) -> str:
    """Return a temperature's figure in the other unit, to a tenth."""
    other = OTHER[unit]
    if also and other in also:
        return number(also[other])
    return f"{float(convert(value, unit, other)):.1f}".replace("-", "−")


def difference(value: Decimal, unit: str) -> str:
    """Return a difference of readings with its sign, in both units of temperature."""
    other = OTHER.get(unit)
    said = f"{value:+f} {symbol(unit)}".strip()
    if other is not None:
        turned = float(convert_difference(value, unit, other))
        said += f" ({turned:+.1f} {symbol(other)})"
    return said.replace("-", "−")


def as_difference(value: Decimal, source: str, target: str) -> Fraction:
    """Return a tolerance in another unit, exactly."""
    return convert_difference(value, source, target)


def title(control_point: str) -> str:
    """Return a control point as people call it."""
    known = CONTROL_POINTS.get(control_point)
    return known.title if known else plain(control_point)


def plain(slug: str) -> str:
    """Return a slug as words."""
    return slug.replace("-", " ").replace(".", " ")


def quantity_name(name: str) -> str:
    """Return a quantity in the middle of a sentence."""
    shown = QUANTITIES[name].title if name in QUANTITIES else plain(name)
    return shown if shown[:2] == "pH" else shown[0].lower() + shown[1:]


# ------------------------------------------------------------ limits


def figure(limit: Limit | None) -> str:
    """Return what a limit asks, in one phrase with its figures."""
    if limit is None:
        return INSTRUMENT_LIMIT
    for kind, words in _FIGURES.items():
        if isinstance(limit, kind):
            return words(limit)
    return plain(limit.kind)


def _value(limit: ValueLimit) -> str:
    return f"{quantity_name(limit.quantity)} {_bound(limit)}"


def _bound(limit: ValueLimit) -> str:
    sides = {
        (True, False): "at or above",
        (True, True): "above",
        (False, False): "at or below",
        (False, True): "below",
    }
    side = sides[limit.kind.endswith("at_least"), limit.strict]
    return f"{side} {both(limit.value, limit.unit, limit.also)}"


def _dwell(limit: DwellLimit) -> str:
    if limit.minutes == 0:
        return f"{_value(limit)}, once"
    return f"{_value(limit)} for {span(float(limit.minutes))} without a break"


def _stay(limit: StayLimit) -> str:
    if limit.excursion_min == 0:
        return f"{_value(limit)} throughout"
    return (
        f"{_value(limit)}, beyond it no longer than {span(float(limit.excursion_min))}"
    )


def _cool(limit: CoolLimit) -> str:
    also = {unit: pair[0] for unit, pair in limit.also.items()}
    also_to = {unit: pair[1] for unit, pair in limit.also.items()}
    side = "below " if limit.strict else ""
    return (
        f"from {both(limit.from_value, limit.unit, also)} to {side}"
        f"{both(limit.to_value, limit.unit, also_to)} within {span(float(limit.minutes))}"
    )


def _exposure(limit: ExposureLimit) -> str:
    bands = "; ".join(
        f"{span(float(band.minutes))} {_band(band, limit.unit)}" for band in limit.bands
    )
    return f"in all no more than {bands}"


def _band(band: Band, unit: str) -> str:
    if band.up_to is None:
        return f"above {both(band.above, unit)}"
    return f"above {both(band.above, unit)} up to {both(band.up_to, unit)}"


def _within(limit: WithinLimit) -> str:
    return (
        f"{plain(limit.what)} no later than {limit.days} days after {plain(limit.of)}"
    )


def _stated(limit: StatedLimit) -> str:
    return f"on record: {plain(limit.what)}"


def _combination(limit: Combination) -> str:
    joint = " or " if limit.kind == "any_of" else " and "
    return joint.join(figure(member) for member in limit.limits)


_FIGURES: dict[type[Limit], Callable[[Any], str]] = {
    DwellLimit: _dwell,
    StayLimit: _stay,
    ValueLimit: _value,
    CoolLimit: _cool,
    ExposureLimit: _exposure,
    WithinLimit: _within,
    StatedLimit: _stated,
    Combination: _combination,
}


def basis(tag: str) -> str:
    """Return in words how a figure is known."""
    kind, _, rest = tag.partition(" ")
    if kind == "seen":
        return "read" if rest in {"", "1"} else f"read, {rest} places"
    return _BASES.get(kind, tag)


def interval(limit: Limit | None, published: Published | None) -> str:
    """Return how close readings must be, and who says so."""
    if isinstance(limit, Combination):
        said = [interval(member, published) for member in limit.limits]
        return next((words for words in said if words), "")
    check_every = getattr(limit, "check_every_min", None)
    if check_every is None:
        return ""
    tag = published.interval_basis.partition(":")[0] if published else ""
    whose = _INTERVALS.get(tag, "")
    return f"Readings at most {span(float(check_every))} apart{whose}."


# ------------------------------------------------------------ findings


def observed(finding: Finding) -> str:
    """Return the figures a finding rests on; nothing where there are none."""
    seen = finding.observed
    if "shortest_min" in seen:
        return minutes_between(seen["shortest_min"], seen["longest_min"])
    if seen.get("lowest") is not None:
        unit = getattr(finding.limit, "unit", "1")
        low, high = number(seen["lowest"], 2), number(seen["highest"], 2)
        figures = low if low == high else f"{low} to {high}"
        return f"{figures} {symbol(unit)}".strip()
    if isinstance(seen.get("used_share"), Mapping):
        least, most = (seen["used_share"][end] for end in ("least", "most"))
        return f"{_share(least)} to {_share(most)} of what is allowed"
    return ""


def minutes_between(shortest: Any, longest: Any) -> str:
    """Return a range of minutes; None is without bound."""
    if longest is None:
        return f"{number(shortest)} min or more, without known end"
    if shortest == longest:
        return f"{number(shortest)} min"
    return f"{number(shortest)} to {number(longest)} min"


def _share(share: Any) -> str:
    return "an unknown share" if share is None else f"{float(share):.0%}"
