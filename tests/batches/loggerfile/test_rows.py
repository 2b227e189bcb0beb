"""Rows that are missing, wrong, repeated or out of order; gaps; long files."""

from decimal import Decimal

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


def rows(*pairs: tuple[str, str]) -> str:
    return "Time,P1 °F\n" + "".join(f"2025-06-30 {at},{value}\n" for at, value in pairs)


@pytest.mark.parametrize(
    "word",
    [
        "ERR",
        "---",
        "NaN",
        "open",
        "sensor fault",
        "#N/A",
        "Lo",
        "OL",
        "****",
        "E05",
        "inf",
    ],
)
def test_error_word_in_a_cell_is_left_out_with_line_and_text(word: str) -> None:
    understood = read(rows(("10:00", "71.2"), ("10:10", word), ("10:20", "71.4")))
    assert values(understood) == ["71.2", "71.4"]
    group = understood.left_out[0]
    assert group.reason == f"the cell says “{word}”"
    assert (group.examples[0].line, group.examples[0].column) == (3, "P1 °F")


@pytest.mark.parametrize(
    "word", ["door was opened", ">71.2", "71.2*", "7 1.2", "71..2"]
)
def test_cell_that_is_no_number_is_left_out(word: str) -> None:
    understood = read(rows(("10:00", "71.2"), ("10:10", word), ("10:20", "71.4")))
    assert values(understood) == ["71.2", "71.4"]
    assert reasons(understood) == {"not a number": 1}


def test_empty_cells_and_short_rows_are_left_out_by_cell() -> None:
    text = "Time,P1 °F,P2 °F\n2025-06-30 10:00,,70.1\n2025-06-30 10:10,71.2\n"
    understood = read(text)
    assert [values(understood, index) for index in (0, 1)] == [["71.2"], ["70.1"]]
    assert reasons(understood) == {"empty cell": 2}
    assert understood.rows_read == 2


@pytest.mark.parametrize(
    ("value", "heading"),
    [("-999.9", "P1 °F"), ("3276.7", "P1 °C"), ("-127", "P1 °C"), ("120", "RH %")],
)
def test_value_that_no_sensor_shows_is_left_out(value: str, heading: str) -> None:
    text = f"Time,{heading}\n2025-06-30 10:00,{value}\n2025-06-30 10:10,50.5\n"
    understood = read(text)
    assert len(understood.series[0]) == 1
    assert next(iter(reasons(understood))).startswith("not between")


def test_row_with_more_cells_than_headings_is_left_out() -> None:
    text = rows(("10:00", "71.2"), ("10:10", "71.3")) + "2025-06-30 10:20,71,4\n"
    understood = read(text)
    assert values(understood) == ["71.2", "71.3"]
    assert understood.left_out[0].reason == "more cells than headings (2)"


def test_commas_for_columns_and_decimals_are_refused() -> None:
    with pytest.raises(LoggerFileError, match="semicolons or tabs"):
        read("Time,P1 °F\n30.06.2025 10:00,71,2\n30.06.2025 10:10,71,3\n")


def test_trailing_delimiters_do_no_harm() -> None:
    text = "Time;P1 °F\n2025-06-30 10:00;71,2;;\n2025-06-30 10:10;71,3;;\n"
    assert values(read(text)) == ["71.2", "71.3"]


def test_footer_is_left_out_with_its_lines() -> None:
    text = rows(("10:00", "71.2")) + "End of data\nMean,71.2\n"
    understood = read(text)
    assert values(understood) == ["71.2"]
    assert reasons(understood) == {"below the last reading": 2}


def test_row_without_a_date_in_the_middle_is_left_out() -> None:
    text = rows(("10:00", "71.2")) + "battery changed,\n2025-06-30 10:20,71.3\n"
    understood = read(text)
    assert reasons(understood) == {"no date and time": 1}
    assert understood.left_out[0].examples[0].text == "battery changed,"


def test_reasons_beyond_many_are_counted_together() -> None:
    words = [f"Q{letter}{other}" for letter in "abcdef" for other in "abcdef"]
    cells = [("10:00", "71.2")] * 40 + [("11:00", f"#{word}") for word in words]
    understood = read(rows(*cells))
    assert sum(reasons(understood).values()) == len(words)
    assert len(reasons(understood)) <= 25


def test_repeated_rows_are_joined_and_counted() -> None:
    understood = read(rows(("10:00", "71.2"), ("10:00", "71.2"), ("10:10", "71.3")))
    assert values(understood) == ["71.2", "71.3"]
    assert (understood.repeated_rows, understood.sensors[0].repeated) == (1, 1)


def test_repeated_instant_with_another_value_keeps_both() -> None:
    cells = [(f"10:{minute:02}", "71.2") for minute in range(30)]
    understood = read(rows(*cells, ("10:29", "75.0")))
    assert values(understood)[-2:] == ["71.2", "75.0"]
    assert understood.sensors[0].conflicting == 1
    assert "different values" in understood.warnings[0]


def test_repeated_instants_throughout_ask_for_the_sensors_name() -> None:
    cells = [("10:00", "71.2"), ("10:00", "60.1"), ("10:10", "71.3"), ("10:10", "60.2")]
    text = rows(*cells)
    assert question_ids(read(text)) == ["sensor-column"]
    assert len(read(text, answers={"sensor-column": "none"}).series[0]) == 4


def test_rows_out_of_order_are_sorted_and_counted() -> None:
    understood = read(rows(("10:20", "3.5"), ("10:00", "1.5"), ("10:10", "2.5")))
    assert values(understood) == ["1.5", "2.5", "3.5"]
    assert understood.out_of_order_rows == 1
    assert understood.row_order == "mixed"


def test_rows_newest_first_are_turned_round() -> None:
    understood = read(rows(("10:20", "3.5"), ("10:10", "2.5"), ("10:00", "1.5")))
    assert values(understood) == ["1.5", "2.5", "3.5"]
    assert (understood.row_order, understood.out_of_order_rows) == ("newest first", 0)


def test_gap_longer_than_twice_the_interval_is_listed() -> None:
    times = ["10:00", "10:10", "10:20", "10:40", "10:50", "11:11", "11:21"]
    understood = read(rows(*((time, "71.2") for time in times)))
    assert understood.span is not None
    assert understood.span.interval_s == 600
    assert understood.span.gap_count == 1
    gap = understood.span.gaps[0]
    assert (gap.sensor, gap.seconds) == ("P1", 1260)
    assert gap.start.isoformat() == "2025-06-30T10:50:00-07:00"


def test_gap_of_one_sensor_is_seen_though_the_other_goes_on() -> None:
    body = "".join(
        f"2025-06-30 10:{minute:02},{'ERR' if 10 < minute < 20 else '71.2'},70.1\n"
        for minute in range(40)
    )
    understood = read("Time,P1 °F,P2 °F\n" + body)
    assert [sensor.gap_count for sensor in understood.sensors] == [1, 0]
    assert understood.span is not None
    assert understood.span.gaps[0].sensor == "P1"


def test_one_row_is_enough() -> None:
    understood = read(rows(("10:00", "71.2")))
    assert understood.span is not None
    assert understood.span.interval_s is None
    assert understood.span.first_at == understood.span.last_at


def test_sensors_show_exact_lowest_and_highest() -> None:
    sensor = read(rows(("10:00", "71.20"), ("10:10", "-3.1"))).sensors[0]
    assert (sensor.lowest, sensor.highest) == (Decimal("-3.10"), Decimal("71.20"))
    assert str(sensor.highest) == "71.20"


def test_file_that_breaks_off_loses_its_last_number() -> None:
    understood = read(rows(("10:00", "71.2"), ("10:10", "73.4")) + "2025-06-30 10:20,7")
    assert values(understood) == ["71.2", "73.4"]
    assert reasons(understood) == {"the file breaks off in the middle of this line": 1}


def test_file_without_a_last_line_ending_keeps_a_whole_number() -> None:
    understood = read(rows(("10:00", "71.2"), ("10:10", "73.4")).rstrip("\n"))
    assert values(understood) == ["71.2", "73.4"]


# -- columns that are no sensors -------------------------------------------------------


def test_counters_and_other_measures_are_ignored_with_the_reason() -> None:
    text = (
        "No.,Time,P1 °F,Battery (V),Alarm\n1,2025-06-30 10:00,71.2,3.1,\n"
        "2,2025-06-30 10:10,71.3,3.1,door\n"
    )
    understood = read(text)
    assert [series.name for series in understood.series] == ["P1"]
    why = {column.heading: column.why for column in understood.columns}
    assert why["No."] == "numbers of rows"
    assert "neither a temperature" in why["Battery (V)"]
    assert why["Alarm"] == "words, not numbers"


def test_sensor_without_any_number_is_warned_of() -> None:
    text = "Time,P1 °F,P2 °F\n2025-06-30 10:00,71.2,ERR\n2025-06-30 10:10,71.3,ERR\n"
    understood = read(text)
    assert len(understood.series) == 1
    assert "P2 °F" in understood.warnings[0]


def test_rising_temperatures_are_not_taken_for_a_counter() -> None:
    text = "Time,P1\n2025-06-30 10:00,1\n2025-06-30 10:10,2\n2025-06-30 10:20,3\n"
    assert question_ids(read(text)) == ["unit:1"]


# -- a row for each sensor -------------------------------------------------------------

LONG = (
    "Time,Sensor,Value,Unit\n"
    "2025-06-30 10:00,P1,71.2,F\n"
    "2025-06-30 10:00,Cooler,3.5,C\n"
    "2025-06-30 10:10,P1,71.3,F\n"
    "2025-06-30 10:10,Cooler,ERR,C\n"
    "2025-06-30 10:10,,3.6,C\n"
)


def test_long_file_gives_a_series_for_each_name() -> None:
    understood = read(LONG)
    assert understood.layout == "long"
    assert [(s.name, s.unit) for s in understood.series] == [
        ("P1", "degF"),
        ("Cooler", "degC"),
    ]
    assert values(understood, 0) == ["71.2", "71.3"]
    assert values(understood, 1) == ["3.5"]
    assert reasons(understood)["no sensor named"] == 1


def test_long_file_with_numbered_channels_is_read() -> None:
    text = (
        "Time,Channel,Temp °F\n2025-06-30 10:00,1,71.2\n2025-06-30 10:00,2,60.1\n"
        "2025-06-30 10:10,1,71.3\n2025-06-30 10:10,2,60.2\n"
    )
    understood = read(text)
    assert [series.name for series in understood.series] == ["1", "2"]
    assert values(understood, 1) == ["60.1", "60.2"]


def test_long_file_without_units_asks_for_each_name() -> None:
    text = "Time,Probe,Value\n2025-06-30 10:00,P1,71.2\n2025-06-30 10:00,P2,50\n"
    assert question_ids(read(text)) == ["unit:2:P1", "unit:2:P2"]
    understood = read(text, answers={"unit:2:P1": "degF", "unit:2:P2": "percent"})
    assert [series.unit for series in understood.series] == ["degF", "percent"]


def test_long_file_with_an_unknown_heading_asks_which_column_names() -> None:
    text = (
        "Time,Where,Temp °F\n2025-06-30 10:00,rack,71.2\n2025-06-30 10:00,door,60.1\n"
    )
    assert question_ids(read(text)) == ["sensor-column"]
    understood = read(text, answers={"sensor-column": "1"})
    assert [series.name for series in understood.series] == ["rack", "door"]


def test_long_file_with_two_values_names_both() -> None:
    text = "Device,Time,Temp °C,RH %\nA,2025-06-30 10:00,20.1,50\nB,2025-06-30 10:00,21.1,51\n"
    names = [series.name for series in read(text).series]
    assert names == ["A Temp", "B Temp", "A RH", "B RH"]


def test_long_file_grouped_by_sensor_is_not_out_of_order() -> None:
    text = "Time,Sensor,Temp °F\n" + "".join(
        f"2025-06-30 10:{minute:02},{name},7{minute % 10}.5\n"
        for name in ("P1", "P2")
        for minute in range(10)
    )
    understood = read(text)
    assert (understood.out_of_order_rows, understood.row_order) == (0, "oldest first")


def test_long_file_with_a_unit_we_do_not_take_leaves_those_rows_out() -> None:
    text = (
        "Time,Sensor,Value,Unit\n2025-06-30 10:00,P1,71.2,F\n2025-06-30 10:00,B,3.1,V\n"
    )
    understood = read(text)
    assert [series.name for series in understood.series] == ["P1"]
    assert reasons(understood) == {"neither °F, °C nor % relative humidity": 1}


# -- a second table --------------------------------------------------------------------


def test_headings_again_ask_whether_the_sensors_are_the_same() -> None:
    text = rows(("10:00", "71.2")) + rows(("10:10", "71.3"))
    assert question_ids(read(text)) == ["blocks"]
    understood = read(text, answers={"blocks": "same"})
    assert instants(understood) == ["2025-06-30T17:00:00Z", "2025-06-30T17:10:00Z"]
    with pytest.raises(LoggerFileError, match="line 3"):
        read(text, answers={"blocks": "different"})


def test_headings_of_another_sensor_ask_too() -> None:
    text = rows(("10:00", "71.2")) + rows(("10:10", "71.3")).replace("P1 °F", "Fridge")
    assert question_ids(read(text)) == ["blocks"]


def test_headings_with_another_unit_are_refused() -> None:
    text = rows(("10:00", "71.2")) + rows(("10:10", "21.3")).replace("°F", "°C")
    with pytest.raises(LoggerFileError, match="Other headings start here"):
        read(text)


def test_series_are_whole_numbers_in_order() -> None:
    series = read(rows(("10:10", "71.25"), ("10:00", "3"))).series[0]
    assert (series.values.dtype.name, series.at_us.dtype.name) == ("int64", "int64")
    assert (series.values.tolist(), series.decimals) == ([300, 7125], 2)
    assert said(series)[1][1] == Decimal("71.25")


@pytest.mark.parametrize("heading", ["Comment", "Status", "Alarm message"])
def test_column_of_notes_is_not_asked_about(heading: str) -> None:
    text = f"Time,P1 °F,{heading}\n2025-06-30 10:00,71.2,door\n2025-06-30 10:10,71.3,fish\n"
    assert question_ids(read(text)) == []


def test_sensor_that_mostly_failed_is_still_read() -> None:
    text = rows(("10:00", "71.2"), *((f"10:{m}", "probe unplugged") for m in (10, 20)))
    understood = read(text)
    assert values(understood) == ["71.2"]
    assert reasons(understood) == {"not a number": 2}


def test_words_with_few_numbers_and_no_unit_are_warned_of() -> None:
    text = (
        "Time,P1 °F,Door\n2025-06-30 10:00,71.2,shut\n2025-06-30 10:10,71.3,shut\n"
        "2025-06-30 10:20,71.3,7\n"
    )
    assert read(text).warnings == (
        "Column 3 (Door) has 1 numbers among more words and is not read.",
    )


def test_long_file_answered_ignore_leaves_one_sensor_out() -> None:
    text = "Time,Probe,Value\n2025-06-30 10:00,P1,71.2\n2025-06-30 10:00,P2,50\n"
    understood = read(text, answers={"unit:2:P1": "degF", "unit:2:P2": "ignore"})
    assert [series.name for series in understood.series] == ["P1"]
    assert reasons(understood) == {"“P2” left out as you answered": 1}


def test_long_file_with_two_units_in_one_row_leaves_it_out() -> None:
    text = (
        "Time,Sensor,Value,Unit\n2025-06-30 10:00,P1,71.2 F,F\n"
        "2025-06-30 10:10,P1,71.3 F,C\n2025-06-30 10:20,P1,71.4,F\n"
    )
    understood = read(text)
    assert values(understood) == ["71.2", "71.4"]
    assert reasons(understood) == {"neither °F, °C nor % relative humidity": 1}


def test_rows_that_step_back_are_counted_once_each() -> None:
    times = ["10:00", "10:10", "10:20", "10:05", "10:30", "10:40"]
    understood = read(rows(*((time, "71.2") for time in times)))
    assert understood.out_of_order_rows == 1
    assert understood.warnings == ("1 rows step back in time; they were put in order.",)
