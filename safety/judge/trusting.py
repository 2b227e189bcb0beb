"""The finding about the instruments themselves: checks before and after each reading."""

from collections.abc import Iterable

from safety.judge.finding import Finding, Status
from safety.judge.gather import Gathered
from safety.judge.instruments import Trust
from safety.judge.placing import Verdict
from safety.limits.parse import RESERVED_ID
from safety.quantities import QUANTITIES

AWAITING = "awaiting next check"


def judge_instruments(gathered: Gathered) -> list[Finding]:
    """Judge every instrument with which anything was read, limit or no limit.

    Parameters
    ----------
    gathered : Gathered
        All readings of the batch, inside their windows or not.

    Returns
    -------
    list of Finding
        One per instrument (its id as the place), and one without a place for readings
        that name none. One failed check re-opens everything since the last accepted.
    """
    by_instrument: dict[str | None, list[Trust]] = {}
    for (_, quantity), by_place in gathered.rows.items():
        if QUANTITIES[quantity].instrument is None:
            continue
        for rows in by_place.values():
            for kind in rows.kinds:
                trust = kind.trust
                by_instrument.setdefault(trust.instrument, []).append(trust)
    names = sorted(by_instrument, key=lambda name: (name is None, name or ""))
    return [_finding(name, by_instrument[name], gathered) for name in names]


def _finding(name: str | None, trusts: list[Trust], gathered: Gathered) -> Finding:
    verdict = _unnamed() if name is None else _judge(name, trusts, gathered)
    return Finding(
        control_point="instrument-check",
        limit=None,
        limit_id=RESERVED_ID,
        place=name,
        status=verdict.status,
        observed={},
        cautions=verdict.cautions,
        why=verdict.why,
        would_settle=verdict.would_settle,
    )


def _unnamed() -> Verdict:
    return Verdict(
        status=Status.NOT_SHOWN,
        why="Some readings name no instrument, so no check can vouch for them.",
        would_settle="The instrument of each reading, and its accepted checks.",
    )


def _judge(name: str, trusts: Iterable[Trust], gathered: Gathered) -> Verdict:
    trusts = list(trusts)
    if any(t.next_accepted is False for t in trusts):
        return Verdict(
            status=Status.MISSED,
            why=(
                f"The first check of {name} after some of these readings was not "
                "accepted: it may have been off while they were taken."
            ),
            would_settle=(
                "The readings judged again with the error found, or the food evaluated "
                "without them."
            ),
        )
    if any(t.last_accepted is False for t in trusts):
        return Verdict(
            status=Status.MISSED,
            why=f"The last check of {name} before some readings was not accepted.",
            would_settle="Readings by an instrument whose last check was accepted.",
        )
    if any(t.last_accepted is None for t in trusts):
        return Verdict(
            status=Status.NOT_SHOWN,
            why=f"No check of {name} before some of these readings is on record.",
            would_settle=f"The record of an accepted check of {name} before them.",
        )
    if any(t.last_too_old for t in trusts):
        days = gathered.histories[name].every_days
        return Verdict(
            status=Status.NOT_SHOWN,
            why=f"The last check of {name} was more than {days} days before some readings.",
            would_settle=f"The record of a check of {name} in those {days} days.",
        )
    awaiting = any(t.next_accepted is None for t in trusts)
    return Verdict(
        status=Status.MET,
        cautions=(AWAITING,) if awaiting else (),
        why=(
            f"The last check of {name} before every reading was accepted"
            + (
                "; the next one is still to come."
                if awaiting
                else ", and so was the next."
            )
        ),
    )
