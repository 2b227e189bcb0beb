"""What went wrong in the season: each case opened, held, decided and closed as told."""

import tomllib
from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from typing import Any

from batches import recording
from batches.demo.diary import Diary, Firm
from batches.demo.story import DATA, local
from batches.models import Batch, Deviation, Disposition, Lot, Response

Told = dict[str, Any]


def deviate(diary: Diary) -> None:
    """Write down every case of the season."""
    for case in tomllib.loads((DATA / "deviations.toml").read_text("utf-8"))["case"]:
        for code in case.get("batches", [case.get("lot")]):
            diary.add(_local(case["at"]), _open, diary.firm, case, code)
            for step in case["step"]:
                deed = _DEEDS.get(step["do"], _respond)
                diary.add(_local(step["at"]), deed, diary.firm, case, code, step)


def opened(firm: Firm, case: str, code: str) -> list[Deviation]:
    """Return the deviations of one case of a batch."""
    found: list[Deviation] = firm.entries[f"{case} {code}"]
    return found


def decision_of(firm: Firm, batch: str) -> Disposition:
    """Return the decision to work a batch again."""
    found: Disposition = firm.entries[f"rework {batch}"]
    return found


def _local(at: datetime) -> datetime:
    return local(at.isoformat())


def _thing(firm: Firm, code: str) -> Batch | Lot:
    return firm.batches[code] if code in firm.batches else firm.lots[code]


def _open(firm: Firm, case: Told, code: str, *, at: datetime) -> None:
    firm.entries[f"{case['name']} {code}"] = [
        recording.open_deviation(
            _thing(firm, code),
            control_point=finding["control_point"],
            limit_id=finding["limit_id"],
            status=finding["status"],
            words=finding["words"],
            observed_at=_local(case["observed_at"]),
            detected_how=case["how"],
            by=firm.members[case["by"]],
            at=at,
        )
        for finding in (case, *case.get("finding", ()))
    ]


def _common(firm: Firm, code: str, step: Told, at: datetime) -> Told:
    told: Told = {"by": firm.members[step["by"]], "at": at}
    if "kg" in step:
        told["kg"] = Decimal(step["kg"][code])
    if "packages" in step:
        told["packages"] = step["packages"][code]
    return told


def _hold(firm: Firm, case: Told, code: str, step: Told, *, at: datetime) -> None:
    recording.hold(
        _thing(firm, code),
        reason=step["text"],
        where=step["where"],
        tag=step.get("tag", ""),
        **_common(firm, code, step, at),
    )


def _respond(
    firm: Firm, case: Told, code: str, step: Told, *, at: datetime, **more: Any
) -> list[Response]:
    due_on = step.get("due_on")
    return [
        recording.respond(
            deviation,
            kind=more.get("kind", step["do"]),
            text=step["text"],
            due_on=None if due_on is None else local(f"{due_on}T00:00").date(),
            reassessment=more.get("reassessment"),
            **_common(firm, code, step, at),
        )
        for deviation in opened(firm, case["name"], code)
    ]


def _decide(firm: Firm, case: Told, code: str, step: Told, *, at: datetime) -> None:
    for deviation in opened(firm, case["name"], code):
        made = recording.dispose(
            deviation,
            kind=step["do"],
            reason=step["text"],
            basis=step.get("basis", ""),
            decided_by=firm.members[step["by"]].name,
            function=step["function"],
            qualification=step.get("qualification", ""),
            **_common(firm, code, step, at),
        )
        firm.entries.setdefault(f"{made.kind} {code}", made)


def _reassess(firm: Firm, case: Told, code: str, step: Told, *, at: datetime) -> None:
    signature = firm.batches[code].plan
    row = recording.reassess(
        signature,
        outcome=step["outcome"],
        note=step["text"],
        done_at=at,
        by=firm.members[step["by"]],
        at=at,
    )
    _respond(firm, case, code, step, at=at, kind="reassessment", reassessment=row)


def _close(firm: Firm, case: Told, code: str, step: Told, *, at: datetime) -> None:
    for deviation in opened(firm, case["name"], code):
        recording.close_deviation(
            deviation,
            text=step["text"],
            is_foreseen=step["is_foreseen"],
            by=firm.members[step["by"]],
            at=at,
        )


_DEEDS: dict[str, Callable[..., object]] = {
    "hold": _hold,
    "reassess": _reassess,
    "close": _close,
    **dict.fromkeys(Disposition.Kind.values, _decide),
}
