"""Logger files made in code for the tests; every reading in them is invented."""

from collections.abc import Mapping
from datetime import UTC, datetime
from decimal import Decimal

from batches.loggerfile import Answers, SensorSeries, Understanding, understand

ZONE = "America/Los_Angeles"
NOW = datetime(2025, 12, 31, 12, tzinfo=UTC)


def read(
    text: str | bytes,
    *,
    encoding: str = "utf-8",
    time_zone: str = ZONE,
    answers: Mapping[str, str] | None = None,
) -> Understanding:
    """Understand a text as if it were a file, with answers by question id."""
    return understand(
        text if isinstance(text, bytes) else text.encode(encoding),
        name="invented.csv",
        time_zone=time_zone,
        now=NOW,
        answers=Answers.from_mapping(answers or {}),
    )


def question_ids(understood: Understanding) -> list[str]:
    return [question.id for question in understood.questions]


def said(series: SensorSeries) -> list[tuple[str, Decimal]]:
    """Give the readings of a series as UTC texts and exact decimals."""
    return [
        (
            datetime.fromtimestamp(at // 10**6, UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
            Decimal(value).scaleb(-series.decimals),
        )
        for at, value in zip(series.at_us.tolist(), series.values.tolist(), strict=True)
    ]


def values(understood: Understanding, index: int = 0) -> list[str]:
    return [str(value) for _, value in said(understood.series[index])]


def instants(understood: Understanding, index: int = 0) -> list[str]:
    return [at for at, _ in said(understood.series[index])]


def reasons(understood: Understanding) -> dict[str, int]:
    return {group.reason: group.count for group in understood.left_out}
