"""``exposure_at_most``: total minutes in bands of temperature, over several steps."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from safety.judge.finding import Finding, Status
from safety.judge.gather import Gathered, Placed, Span
from safety.judge.placing import (
    GAP,
    LATE,
    OUTSIDE,
    Scene,
    Verdict,
    nothing_read,
    record_cautions,
)
from safety.judge.sentences import amount, asked_min, minutes_of, plain, us_of_minutes
from safety.judge.series import Booleans, Bound, Series
from safety.limits.model import Band, ExposureLimit

USED_UP = "used share above 1"


@dataclass(frozen=True, slots=True)
class _Time:
    """The least and the most time in one band, us; most None without bound."""

    least_us: int
    most_us: int | None

    def plus(self, other: "_Time") -> "_Time":
        return _Time(self.least_us + other.least_us, _add(self.most_us, other.most_us))

    def or_larger(self, other: "_Time") -> "_Time":
        most_us = None
        if self.most_us is not None and other.most_us is not None:
            most_us = max(self.most_us, other.most_us)
        return _Time(max(self.least_us, other.least_us), most_us)


NO_TIME = _Time(0, 0)


def _add(one: int | None, other: int | None) -> int | None:
    return None if one is None or other is None else one + other


def judge(limit: ExposureLimit, scene: Scene) -> list[Finding]:
    """Judge the time in each band, summed over the limit's steps.

    Parameters
    ----------
    limit : ExposureLimit
        Bands may overlap; each has its own minutes.
    scene : Scene
        The step is not used: the limit names its own.

    Returns
    -------
    list of Finding
        One, without a place. The most time counts every gap that may touch a band
        whole, and an unread step whole, so it errs towards not met.
    """
    gathered = scene.gathered
    cautions: list[str] = []
    totals = [NO_TIME for _ in limit.bands]
    is_recorded = False
    for step in limit.steps:
        window = gathered.window(step)
        placed = gathered.placed(step, limit.quantity)
        if not window.exists and not placed:
            continue
        is_recorded = True
        for i, time in enumerate(_in_step(limit, gathered, window, placed, cautions)):
            totals[i] = totals[i].plus(time)
    if not is_recorded:
        verdict = nothing_read(limit.quantity, *limit.steps)
    else:
        verdict = _verdict(limit, totals, cautions)
    return [scene.finding(limit, None, verdict)]


def _in_step(
    limit: ExposureLimit,
    gathered: Gathered,
    window: Span,
    placed: dict[str | None, Placed],
    cautions: list[str],
) -> list[_Time]:
    """Return the time in each band during one step: the largest over its places."""
    end_us = gathered.judged_us if window.is_open else window.end_us
    whole_us: int | None = None
    if window.start_us is not None and end_us is not None:
        whole_us = end_us - window.start_us
    worst = [NO_TIME for _ in limit.bands]
    if not placed:
        return [_Time(0, whole_us) for _ in limit.bands]
    for held in placed.values():
        if held.has_outside:
            cautions.append(OUTSIDE)
        if held.rows is None:
            times = [_Time(0, whole_us) for _ in limit.bands]
        else:
            series = Series(held.rows)
            cautions += [c for c in record_cautions(series) if c == LATE]
            times = _at_place(limit, series, (window.start_us, end_us), cautions)
        worst = [one.or_larger(two) for one, two in zip(worst, times, strict=True)]
    return worst


def _at_place(
    limit: ExposureLimit,
    series: Series,
    edges_us: tuple[int | None, int | None],
    cautions: list[str],
) -> list[_Time]:
    longest_gap_us = us_of_minutes(limit.check_every_min)
    start_us, end_us = edges_us
    if series.longest_gap_us > longest_gap_us:
        cautions.append(GAP)
    times = []
    for band in limit.bands:
        inside, above, below = _where(limit, band, series)
        time = _between(inside, above, below, series, longest_gap_us)
        if start_us is None or end_us is None:
            times.append(_Time(time.least_us, None))
            continue
        touches = above & below
        ends = (
            (int(series.at_us[0]) - start_us, 0),
            (end_us - int(series.at_us[-1]), -1),
        )
        for stretch_us, index in ends:
            if stretch_us > longest_gap_us:
                time = time.plus(_Time(0, stretch_us))
            else:
                time = time.plus(
                    _Time(
                        stretch_us if inside[index] else 0,
                        stretch_us if touches[index] else 0,
                    )
                )
        times.append(time)
    return times


def _where(
    limit: ExposureLimit, band: Band, series: Series
) -> tuple[Booleans, Booleans, Booleans]:
    """Return where a reading is certainly inside, possibly above, possibly not over."""
    floor = Bound(band.above, limit.unit, strict=True)
    inside, above = series.at_least(floor)
    if band.up_to is None:
        return inside, above, above | True
    certainly_below, below = series.at_most(Bound(band.up_to, limit.unit))
    return inside & certainly_below, above, below


def _between(
    inside: Booleans,
    above: Booleans,
    below: Booleans,
    series: Series,
    longest_gap_us: Fraction,
) -> _Time:
    if len(series) == 1:
        return NO_TIME
    gaps_us = series.gaps_us
    both = inside[1:] & inside[:-1]
    touched = (above[1:] | above[:-1]) & (below[1:] | below[:-1])
    if series.longest_gap_us > longest_gap_us:
        too_long = gaps_us > int(longest_gap_us)
        both &= ~too_long
        touched |= too_long
    return _Time(int(gaps_us[both].sum()), int(gaps_us[touched].sum()))


def _verdict(limit: ExposureLimit, totals: list[_Time], cautions: list[str]) -> Verdict:
    allowed = [us_of_minutes(band.minutes) for band in limit.bands]
    pairs = list(zip(totals, allowed, strict=True))
    if any(time.least_us > most for time, most in pairs):
        status = Status.MISSED
    elif all(time.most_us is not None and time.most_us <= most for time, most in pairs):
        status = Status.MET
    else:
        status = Status.NOT_SHOWN
    least = sum((time.least_us / most for time, most in pairs), Fraction(0))
    known = [time.most_us for time in totals if time.most_us is not None]
    most_share = None
    if len(known) == len(totals):
        most_share = sum(
            (us / most for us, most in zip(known, allowed, strict=True)), Fraction(0)
        )
    if most_share is None or most_share > 1:
        cautions = [*cautions, USED_UP]
    return Verdict(
        status=status,
        observed={
            "used_share": {"least": least, "most": most_share},
            "bands": [
                _band(band, time)
                for band, time in zip(limit.bands, totals, strict=True)
            ],
        },
        cautions=tuple(dict.fromkeys(cautions)),
        why=_why(limit, totals),
        would_settle=_settle(limit, status),
    )


def _band(band: Band, time: _Time) -> dict[str, object]:
    return {
        "above": _number(band.above),
        "up_to": None if band.up_to is None else _number(band.up_to),
        "least_min": minutes_of(time.least_us),
        "most_min": None if time.most_us is None else minutes_of(time.most_us),
    }


def _number(value: Decimal) -> Fraction:
    return Fraction(value)


def _why(limit: ExposureLimit, totals: list[_Time]) -> str:
    parts = []
    for band, time in zip(limit.bands, totals, strict=True):
        where = f"above {amount(band.above, limit.unit)}"
        if band.up_to is not None:
            where += f" up to {amount(band.up_to, limit.unit)}"
        least = plain(minutes_of(time.least_us))
        most = None if time.most_us is None else plain(minutes_of(time.most_us))
        if most is None:
            took = f"{least} min or any time more"
        else:
            took = f"{least} min" if least == most else f"{least} to {most} min"
        parts.append(f"{where} for {took} of {asked_min(band.minutes)}")
    return f"The food was {'; '.join(parts)}."


def _settle(limit: ExposureLimit, status: Status) -> str:
    if status is Status.MET:
        return ""
    if status is Status.MISSED:
        return "Nothing more can be measured; decide what to do with the lot."
    return (
        f"Product temperatures no more than {limit.check_every_min} min apart from the "
        "start to the end of every step that counts."
    )
