"""``within`` (a date soon enough after another) and ``stated`` (a thing on record)."""

from datetime import datetime
from decimal import Decimal

from safety.judge.finding import Finding, Status
from safety.judge.gather import Gathered
from safety.judge.placing import Scene, Verdict
from safety.limits.model import StatedLimit, WithinLimit


def judge_within(limit: WithinLimit, scene: Scene) -> list[Finding]:
    """Judge whether one date is no later than some days after another.

    Parameters
    ----------
    limit : WithinLimit
        Names two dates; the second may be a step's start or end.
    scene : Scene
        Its step is not used.

    Returns
    -------
    list of Finding
        One, without a place. Calendar dates as written, each in its own offset.
    """
    later = _named(limit.what, scene.gathered)
    first = _named_or_edge(limit.of, scene.gathered)
    missing = [
        name for name, date in ((limit.what, later), (limit.of, first)) if date is None
    ]
    if later is None or first is None:
        names = " and ".join(_words(name) for name in missing)
        verdict = Verdict(
            status=Status.NOT_SHOWN,
            why=f"The record has no date for {names}.",
            would_settle=f"The date of {names}.",
        )
        return [scene.finding(limit, None, verdict)]
    days = (later.date() - first.date()).days
    words, of = _words(limit.what), _words(limit.of)
    what = words[:1].upper() + words[1:]
    if days < 0:
        verdict = Verdict(
            status=Status.NOT_SHOWN,
            why=f"{what} ({later:%Y-%m-%d}) lies before {of} ({first:%Y-%m-%d}).",
            would_settle="The right date of whichever of the two is wrong.",
        )
    else:
        is_met = days <= limit.days
        verdict = Verdict(
            status=Status.MET if is_met else Status.MISSED,
            why=(
                f"{what} ({later:%Y-%m-%d}) is {_days(days)} after {of} "
                f"({first:%Y-%m-%d}); the limit is {_days(limit.days)}."
            ),
            would_settle=""
            if is_met
            else "A date that keeps the limit, if one is due.",
        )
    return [scene.finding(limit, None, verdict)]


def judge_stated(limit: StatedLimit, scene: Scene) -> list[Finding]:
    """Judge whether a thing is on record and complies.

    Parameters
    ----------
    limit : StatedLimit
        Names what must be stated.
    scene : Scene
        Its step is not used.

    Returns
    -------
    list of Finding
        One, without a place; absent is not shown, never met.
    """
    found = next(
        (each for each in scene.gathered.batch.statements if each.what == limit.what),
        None,
    )
    what = _words(limit.what)
    if found is None:
        verdict = Verdict(
            status=Status.NOT_SHOWN,
            why=f"Nothing on record says whether “{what}” complies.",
            would_settle=f"A statement about “{what}”.",
        )
    elif found.complies:
        verdict = Verdict(status=Status.MET, why=f"“{what}” is on record and complies.")
    else:
        verdict = Verdict(
            status=Status.MISSED,
            why=f"“{what}” is on record and does not comply.",
            would_settle="A statement that it has been put right, if that is possible.",
        )
    return [scene.finding(limit, None, verdict)]


def _named(name: str, gathered: Gathered) -> datetime | None:
    return next((each.at for each in gathered.batch.dates if each.what == name), None)


def _named_or_edge(name: str, gathered: Gathered) -> datetime | None:
    step, dot, edge = name.rpartition(".")
    if dot and edge in ("start", "end"):
        window = gathered.window_dates.get(step)
        if window is None:
            return None
        return window.start if edge == "start" else window.end
    return _named(name, gathered)


def _days(count: Decimal | int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"


def _words(name: str) -> str:
    step, dot, edge = name.rpartition(".")
    return f"the {edge} of {step}" if dot else name.replace("-", " ")
