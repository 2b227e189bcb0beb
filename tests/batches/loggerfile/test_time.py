"""Dates, clocks and time zones in the ways that loggers write them."""

import pytest

from batches.loggerfile import LoggerFileError
from tests.batches.loggerfile.build import (
    instants,
    question_ids,
    read,
    reasons,
    said,
    values,
)

TEN_LOCAL = "2025-06-30T17:00:00Z"


@pytest.mark.parametrize(
    ("cell", "instant"),
    [
        ("2025-06-30 10:00", TEN_LOCAL),
        ("2025-06-30T10:00:00", TEN_LOCAL),
        ("2025/06/30 10:00:00.250", TEN_LOCAL),
        ("20250630T100000", TEN_LOCAL),
        ("20250630100000", TEN_LOCAL),
        ("30.06.2025 10:00", TEN_LOCAL),
        ("30.06.2025 10.00", TEN_LOCAL),
        ("30. 6. 2025 10:00", TEN_LOCAL),
        ("30-06-2025 10:00:00", TEN_LOCAL),
        ("6/30/2025 10:00:00 AM", TEN_LOCAL),
        ("6/30/2025 10:00 a.m.", TEN_LOCAL),
        ("6/30/2025 10:00 PM", "2025-07-01T05:00:00Z"),
        ("6/30/2025 12:00 AM", "2025-06-30T07:00:00Z"),
        ("6/30/2025 12:00 PM", "2025-06-30T19:00:00Z"),
        ("30-Jun-2025 10:00", TEN_LOCAL),
        ("30 June 2025, 10:00", TEN_LOCAL),
        ("Jun 30, 2025 10:00", TEN_LOCAL),
        ("30 Juni 2025 10:00", TEN_LOCAL),
        ("30-Jun-25 10:00", TEN_LOCAL),
        ("Mon 30/06/2025 10:00", TEN_LOCAL),
        ("10:00 30/06/2025", TEN_LOCAL),
        ("2025-06-30T17:00:00Z", TEN_LOCAL),
        ("2025-06-30 17:00 UTC", TEN_LOCAL),
        ("2025-06-30T19:00:00+02:00", TEN_LOCAL),
        ("2025-06-30T19:00:00+0200", TEN_LOCAL),
        ("2025-06-30 22:30:00 +05:30", TEN_LOCAL),
        ("2025-06-30 10:00:00 GMT-07:00", TEN_LOCAL),
        ("2025-06-30 10:00 PDT", TEN_LOCAL),
        ("1751302800", TEN_LOCAL),
        ("1751302800000", TEN_LOCAL),
        ("1751302800.25", TEN_LOCAL),
        ("2025-06-29 24:00", "2025-06-30T07:00:00Z"),
    ],
)
def test_instant_in_each_form_is_read(cell: str, instant: str) -> None:
    understood = read(f'Time;P1 °F\n"{cell}";71,2\n')
    assert question_ids(understood) == []
    assert instants(understood) == [instant]


def test_fractions_of_seconds_are_kept() -> None:
    understood = read("Time,P1 °F\n2025-06-30 10:00:00.250,71.2\n")
    assert understood.series[0].at_us[0] == 1_751_302_800_250_000


@pytest.mark.parametrize(
    ("row", "instant"),
    [
        ("2025-06-30,10:00,71.2", TEN_LOCAL),
        ("30/06/2025,10:00:00 PM,71.2", "2025-07-01T05:00:00Z"),
        ("30.06.2025,10.00.00,71.2", TEN_LOCAL),
    ],
)
def test_date_and_time_in_two_columns_are_joined(row: str, instant: str) -> None:
    understood = read(f"Date,Time,P1 °F\n{row}\n")
    assert [column.role for column in understood.columns] == ["date", "time", "sensor"]
    assert instants(understood) == [instant]


def test_am_and_pm_in_a_column_of_their_own_are_joined() -> None:
    text = "Date,Time,,P1 °F\n6/30/2025,1:05,PM,71.2\n6/30/2025,1:15,PM,71.3\n"
    assert instants(read(text))[0] == "2025-06-30T20:05:00Z"


def test_offset_in_a_column_of_its_own_is_joined() -> None:
    text = "Time,Zone,P1 °F\n2025-06-30 10:00,+02:00,71.2\n"
    assert instants(read(text)) == ["2025-06-30T08:00:00Z"]


def test_am_or_pm_missing_in_a_row_leaves_it_out() -> None:
    text = "Time,P1 °F\n6/30/2025 1:05 PM,71.2\n6/30/2025 1:15,71.3\n"
    understood = read(text)
    assert values(understood) == ["71.2"]
    assert reasons(understood) == {"neither AM nor PM, though other rows have it": 1}


def test_twelve_hour_clock_without_am_and_pm_is_asked_about() -> None:
    text = "Time,P1 °F\n6/30/2025 12:50,71.2\n6/30/2025 1:00,71.3\n"
    assert question_ids(read(text)) == ["hours"]
    assert len(read(text, answers={"hours": "24-hour"}).series[0]) == 2
    with pytest.raises(LoggerFileError, match="12-hour clock"):
        read(text, answers={"hours": "12-hour"})


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        ("2025-02-30 10:00", "no such date"),
        ("2025-06-30 25:00", "no such time of day"),
        ("2025-06-30 10:61", "no such time of day"),
        ("2025-06-30 24:01", "no such time of day"),
        ("2025-06-30", "no time of day"),
        ("1999-12-31 10:00", "before 2000: the logger's clock was not set"),
        ("1970-01-01T00:00:00Z", "before 2000: the logger's clock was not set"),
        ("2025-12-31 04:01", "in the future (now is 2025-12-31 12:00 UTC)"),
        ("2025-03-09 02:30", "the clock never showed this in America/Los_Angeles"),
        ("2025-06-30 10:00 CEST", "“CEST” is not what clocks showed in"),
        ("yesterday", "no date and time"),
    ],
)
def test_instant_that_cannot_be_is_left_out_with_its_line(
    cell: str, reason: str
) -> None:
    text = f"Time,P1 °F\n2025-06-30 09:00 PDT,71.1\n{cell},71.2\n2025-06-30 11:00 PDT,71.3\n"
    understood = read(text)
    assert values(understood) == ["71.1", "71.3"]
    group = understood.left_out[0]
    assert group.reason.startswith(reason)
    assert (group.count, group.examples[0].line) == (1, 3)
    assert cell in group.examples[0].text


def test_now_is_the_last_instant_that_is_read() -> None:
    assert len(read("Time,P1 °F\n2025-12-31 04:00,71.1\n").series[0]) == 1


AUTUMN = "".join(
    f"2025-11-02 {clock},{value}\n"
    for clock, value in [
        ("00:30", 60),
        ("01:00", 61),
        ("01:30", 62),
        ("01:00", 63),
        ("01:30", 64),
        ("02:00", 65),
    ]
)


def test_hour_shown_twice_is_asked_about() -> None:
    question = read("Time,P1 °F\n" + AUTUMN).questions[0]
    assert question.id == "fold"
    choices = [choice.value for choice in question.choices]
    assert choices == ["in-order", "earlier", "later", "leave-out"]
    assert "4 rows" in question.sentence


@pytest.mark.parametrize(
    ("answer", "hours"),
    [
        ("in-order", ["07:30", "08:00", "08:30", "09:00", "09:30", "10:00"]),
        ("earlier", ["07:30", "08:00", "08:00", "08:30", "08:30", "10:00"]),
        ("later", ["07:30", "09:00", "09:00", "09:30", "09:30", "10:00"]),
        ("leave-out", ["07:30", "10:00"]),
    ],
)
def test_hour_shown_twice_is_read_as_answered(answer: str, hours: list[str]) -> None:
    text = "Time,P1 °F\n" + AUTUMN
    understood = read(text, answers={"fold": answer, "sensor-column": "none"})
    assert [instant[11:16] for instant in instants(understood)] == hours


def test_hour_shown_twice_in_a_file_with_newest_rows_first_is_read_in_order() -> None:
    rows = AUTUMN.splitlines()
    text = "\n".join(["Time,P1 °F", *reversed(rows)]) + "\n"
    understood = read(text, answers={"fold": "in-order"})
    assert [int(value) for _, value in said(understood.series[0])] == [*range(60, 66)]


def test_hour_shown_twice_once_only_cannot_be_told_by_order() -> None:
    understood = read("Time,P1 °F\n2025-11-02 01:00,61\n2025-11-02 01:30,62\n")
    choices = [choice.value for choice in understood.questions[0].choices]
    assert choices == ["earlier", "later", "leave-out"]


def test_hour_shown_twice_with_its_zone_is_not_asked_about() -> None:
    text = "Time,P1 °F\n2025-11-02 01:30 PDT,61\n2025-11-02 01:30 PST,62\n"
    assert instants(read(text)) == ["2025-11-02T08:30:00Z", "2025-11-02T09:30:00Z"]


def test_offset_in_the_heading_is_used() -> None:
    understood = read('"Date Time, GMT-05:00",P1 °F\n2025-06-30 10:00,71.2\n')
    assert instants(understood) == ["2025-06-30T15:00:00Z"]
    assert "heading" in understood.time_zone_known_by


def test_utc_in_the_heading_is_used() -> None:
    understood = read("Time (UTC),P1 °F\n2025-06-30 10:00,71.2\n")
    assert instants(understood) == ["2025-06-30T10:00:00Z"]


def test_zone_abbreviation_in_the_heading_asks() -> None:
    question = read("Time (PST),P1 °F\n2025-06-30 10:00,71.2\n").questions[0]
    assert question.id == "time-zone"
    values_ = [choice.value for choice in question.choices]
    assert values_ == ["America/Los_Angeles", "-08:00", "UTC"]


@pytest.mark.parametrize(
    "line",
    ["Time zone: UTC", "Timezone;Europe/Berlin", "Logged in GMT+1", "Time Zone;?"],
)
def test_zone_in_the_preamble_asks(line: str) -> None:
    text = f"{line}\n\nTime;P1 °F\n2025-06-30 10:00;71,2\n"
    assert question_ids(read(text)) == ["time-zone"]


def test_zone_in_the_preamble_that_is_ours_does_not_ask() -> None:
    text = "Time zone;America/Los_Angeles\n\nTime;P1 °F\n2025-06-30 10:00;71,2\n"
    assert question_ids(read(text)) == []


@pytest.mark.parametrize(
    ("answer", "instant"),
    [
        ("UTC", "2025-06-30T10:00:00Z"),
        ("-08:00", "2025-06-30T18:00:00Z"),
        ("Europe/Berlin", "2025-06-30T08:00:00Z"),
    ],
)
def test_zone_answered_is_used(answer: str, instant: str) -> None:
    text = "Time,P1 °F\n2025-06-30 10:00,71.2\n"
    assert instants(read(text, answers={"time-zone": answer})) == [instant]


@pytest.mark.parametrize(
    "answer", ["Mars/Base", "+99:00", "../../etc/passwd", "America"]
)
def test_zone_answered_that_is_none_asks_again(answer: str) -> None:
    text = "Time,P1 °F\n2025-06-30 10:00,71.2\n"
    assert question_ids(read(text, answers={"time-zone": answer})) == ["time-zone"]


def test_zone_of_texts_unknown_here_asks() -> None:
    text = "Time,P1 °F\n2025-06-30 10:00 EDT,71.2\n"
    assert question_ids(read(text)) == ["time-zone"]
    understood = read(text, answers={"time-zone": "America/New_York"})
    assert instants(understood) == ["2025-06-30T14:00:00Z"]


def test_offsets_in_some_rows_only_are_warned_of() -> None:
    text = "Time,P1 °F\n2025-06-30 10:00Z,71.2\n2025-06-30 10:10,71.3\n"
    assert "other 1 were read in America/Los_Angeles" in read(text).warnings[0]


def test_premises_zone_that_is_none_is_refused() -> None:
    with pytest.raises(LoggerFileError, match="not a time zone"):
        read("Time,P1 °F\n2025-06-30 10:00,71.2\n", time_zone="Nowhere")


ELAPSED = "Minutes,P1 °F\n0,71.2\n0.5,71.3\n10,71.4\n"


def test_elapsed_minutes_ask_for_the_start() -> None:
    question = read(ELAPSED).questions[0]
    assert (question.id, question.kind) == ("start", "instant")


@pytest.mark.parametrize(
    ("start", "first"),
    [
        ("2025-06-30T10:00", "2025-06-30T17:00:00Z"),
        ("2025-06-30T10:00+02:00", "2025-06-30T08:00:00Z"),
    ],
)
def test_elapsed_minutes_count_from_the_start_given(start: str, first: str) -> None:
    understood = read(ELAPSED, answers={"start": start})
    assert instants(understood)[0] == first
    steps = understood.series[0].at_us - understood.series[0].at_us[0]
    assert steps.tolist() == [0, 30_000_000, 600_000_000]


@pytest.mark.parametrize("start", ["soon", "2025-03-09T02:30", "0001-01-01"])
def test_elapsed_start_that_cannot_be_asks_again(start: str) -> None:
    assert question_ids(read(ELAPSED, answers={"start": start})) == ["start"]


def test_elapsed_start_in_the_hour_shown_twice_asks() -> None:
    answers = {"start": "2025-11-02T01:30"}
    assert question_ids(read(ELAPSED, answers=answers)) == ["fold"]
    understood = read(ELAPSED, answers=answers | {"fold": "later"})
    assert instants(understood)[0] == "2025-11-02T09:30:00Z"


def test_elapsed_without_a_unit_asks_for_it() -> None:
    text = "Time,P1 °F\n0,71.2\n1,71.3\n"
    given = {"start": "2025-06-30T10:00"}
    assert question_ids(read(text, answers=given)) == ["elapsed-unit"]
    understood = read(text, answers=given | {"elapsed-unit": "h"})
    assert instants(understood)[1] == "2025-06-30T18:00:00Z"


def test_dates_without_times_are_refused() -> None:
    with pytest.raises(LoggerFileError, match="no time of day"):
        read("Date,P1 °F\n2025-06-30,71.2\n")


def test_times_without_dates_are_refused() -> None:
    with pytest.raises(LoggerFileError, match=r"no date|date and a number"):
        read("Time,P1 °F\n10:00,71.2\n10:10,71.3\n")


def test_dates_of_eight_digits_beside_times_are_read() -> None:
    text = "Serial,Date,Time,P1 °F\n20259911,20250630,10:00,71.2\n20259911,20250630,10:10,7.5\n"
    assert instants(read(text))[0] == "2025-06-30T17:00:00Z"


def test_zone_abbreviation_in_the_heading_unknown_here_asks() -> None:
    question = read("Time (XYZ),P1 °F\n2025-06-30 10:00,71.2\n").questions[0]
    choices = [choice.value for choice in question.choices]
    assert choices == ["America/Los_Angeles", "UTC"]


def test_fifty_thousand_rows_come_back_whole() -> None:
    lines = [
        f"2025-06-{1 + n // 8640:02} {n // 360 % 24:02}:{n // 6 % 60:02}:{n % 6}0,{n % 997}"
        for n in range(50_000)
    ]
    series = read("Time,P1 °F\n" + "\n".join(lines) + "\n").series[0]
    assert len(series) == sum(n % 997 <= 932 for n in range(50_000))
    assert series.values.sum() == sum(n % 997 for n in range(50_000) if n % 997 <= 932)
    assert series.at_us[-1] - series.at_us[0] == 499_990 * 10**6
