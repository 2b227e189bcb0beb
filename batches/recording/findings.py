"""Writes: what was judged of a batch at the instant of a signature."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.db import transaction

from batches.deviating import Answered, limit_words, source_words
from batches.judging import evidence_of
from batches.lookups import BatchRecords
from batches.models import FindingRow, FindingSet, Member
from batches.recording import rows
from safety.judge import write_batch
from safety.judge.finding import Judgement


@transaction.atomic
def store_findings(
    records: BatchRecords,
    judgement: Judgement,
    *,
    answers: Mapping[tuple[str, str], Answered],
    by: Member,
    at: Any,
) -> FindingSet:
    """Keep every finding as it was judged at ``at``, with the digest of the batch file.

    ``answers`` are the deviations that take findings up, by control point and limit.
    """
    text = canonical(write_batch(evidence_of(records, judged_at=at)))
    kept: FindingSet = rows.add(
        FindingSet,
        producer=records.batch.producer,
        batch=records.batch,
        outcome=judgement.outcome.value,
        judged_at=at,
        batch_sha256=hashlib.sha256(text.encode()).hexdigest(),
        version=settings.BRINEWRIGHT_VERSION,
        **rows.signed(by, at),
    )
    for finding in judgement.findings:
        answer = answers.get((finding.control_point, finding.limit_id))
        state = None if answer is None else answer.state
        rows.add(
            FindingRow,
            rows.signed(by, at),
            finding_set=kept,
            control_point=finding.control_point,
            limit_id=finding.limit_id,
            place=finding.place or "",
            status=finding.status.value,
            limit_text=limit_words(finding),
            source_text=source_words(finding),
            observed=finding.as_json()["observed"],
            because=finding.why,
            cautions=list(finding.cautions),
            deviation=None if state is None else state.deviation,
        )
    return kept


def canonical(text: str) -> str:
    """Return a batch file with sorted keys and no blanks, every digit as it stands."""
    document = json.loads(text, parse_float=_Digits, parse_int=_Digits)
    return _written(document)


class _Digits(str):
    """A number as the digits that it was written with."""

    __slots__ = ()


def _written(value: Any) -> str:
    if isinstance(value, _Digits):
        return str(value)
    if isinstance(value, dict):
        pairs = (f"{json.dumps(key)}:{_written(value[key])}" for key in sorted(value))
        return f"{{{','.join(pairs)}}}"
    if isinstance(value, list):
        return f"[{','.join(map(_written, value))}]"
    return json.dumps(value)
