"""Delimiters, encodings, headings and numbers in the ways that loggers write them."""

import codecs

import pytest

from tests.batches.loggerfile.build import instants, question_ids, read, reasons, values

PLAIN = "Time,P1 (°F)\n2025-06-30 10:00,71.2\n2025-06-30 10:10,-3.05\n"


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_delimiter_of_each_kind_is_found(delimiter: str) -> None:
    understood = read(PLAIN.replace(",", delimiter))
    assert values(understood) == ["71.20", "-3.05"]
    assert instants(understood) == ["2025-06-30T17:00:00Z", "2025-06-30T17:10:00Z"]


@pytest.mark.parametrize(
    ("encoding", "mark", "label"),
    [
        ("utf-8", b"", "UTF-8"),
        ("utf-8", codecs.BOM_UTF8, "UTF-8 with a byte-order mark"),
        ("utf-16-le", codecs.BOM_UTF16_LE, "UTF-16, little end first"),
        ("utf-16-be", codecs.BOM_UTF16_BE, "UTF-16, big end first"),
        ("utf-16-le", b"", "UTF-16, little end first, without a byte-order mark"),
        ("utf-16-be", b"", "UTF-16, big end first, without a byte-order mark"),
        ("utf-32-le", codecs.BOM_UTF32_LE, "UTF-32, little end first"),
        ("latin-1", b"", "Windows-1252 (Western European)"),
    ],
)
def test_encoding_of_each_kind_is_named_and_read(
    encoding: str, mark: bytes, label: str
) -> None:
    understood = read(mark + PLAIN.encode(encoding))
    assert understood.encoding == label
    assert understood.series[0].unit == "degF"
    assert values(understood) == ["71.20", "-3.05"]


def test_encoding_latin1_with_a_byte_unknown_to_windows_is_read() -> None:
    text = PLAIN.replace("P1", "P1 \x81")
    assert read(text, encoding="latin-1").encoding == "Latin-1 (Western European)"


@pytest.mark.parametrize("ending", ["\r\n", "\r", "\n\n"])
def test_line_endings_of_each_kind_are_read(ending: str) -> None:
    assert values(read(PLAIN.replace("\n", ending))) == ["71.20", "-3.05"]


def test_quoted_cells_with_decimal_commas_are_read() -> None:
    text = '"Time","P1 (°F)"\n"30.06.2025 10:00","71,2"\n"30.06.2025 10:10","72,5"\n'
    understood = read(text)
    assert values(understood) == ["71.2", "72.5"]
    assert understood.decimal_mark == ","


def test_heading_over_two_lines_in_quotes_is_read() -> None:
    understood = read('Time,"P1\n(°F)"\n2025-06-30 10:00,71.2\n')
    assert understood.series[0].unit == "degF"
    assert understood.columns[1].heading == "P1 (°F)"


def test_stray_quotation_mark_swallows_no_rows() -> None:
    rows = "".join(
        f"2025-06-30 10:{minute:02},71.{minute % 10},\n" for minute in range(40)
    )
    text = "Time,P1 (°F),Note\n" + rows.replace("71.5,\n", '71.5,"door\n', 1)
    assert len(read(text).series[0]) == 40


def test_quotes_over_few_rows_are_warned_of() -> None:
    text = 'Time,P1 (°F),Note\n2025-06-30 10:00,71.2,"door\nopen"\n2025-06-30 10:10,71.3,\n'
    understood = read(text)
    assert len(understood.series[0]) == 2
    assert "Lines 2 to 3" in understood.warnings[0]


def test_sep_line_of_a_spreadsheet_is_obeyed() -> None:
    understood = read("sep=;\nTime;P1 °F\n2025-06-30 10:00;71,2\n")
    assert understood.delimiter == "semicolon"
    assert values(understood) == ["71.2"]


def test_preamble_before_the_headings_is_kept_apart() -> None:
    text = (
        "Serial no.;4711\nTitle;Invented smokehouse\nStart;30.06.2025 10:00\n\n"
        "Date/Time;P1 [degC];P2 [degC]\n30.06.2025 10:00;20,1;20,2\n"
    )
    understood = read(text)
    assert understood.header_line == 5
    assert understood.preamble[0] == "Serial no. 4711"
    assert [series.name for series in understood.series] == ["P1", "P2"]
    assert understood.row_count == 1


def test_unit_row_under_the_headings_is_read() -> None:
    text = "Date;Time;P1;RH\ndd.mm.yyyy;hh:mm;°C;%RH\n05.06.2025;10:00;20,1;55\n"
    understood = read(text)
    assert understood.unit_line == 2
    assert [series.unit for series in understood.series] == ["degC", "percent"]
    assert understood.date_order == "day-first"
    assert "dd.mm.yyyy" in understood.date_order_known_by


def test_headings_missing_asks_for_the_unit() -> None:
    understood = read("2025-06-30 10:00,71.2\n2025-06-30 10:10,72.0\n")
    assert understood.header_line is None
    assert question_ids(understood) == ["unit:1"]
    answered = read(
        "2025-06-30 10:00,71.2\n2025-06-30 10:10,72.0\n", answers={"unit:1": "degF"}
    )
    assert answered.series[0].name == "Column 2"


def test_headings_that_are_numbers_name_the_sensors() -> None:
    understood = read("Time,1,2\n2025-06-30 10:00,71.2,70.1\n")
    assert understood.header_line == 1
    assert [sensor.name for sensor in understood.sensors] == ["1", "2"]
    assert question_ids(understood) == ["unit:1", "unit:2"]


def test_headings_twice_the_same_get_different_names() -> None:
    understood = read("Time,Temp °F,Temp °F\n2025-06-30 10:00,71.2,70.1\n")
    names = [series.name for series in understood.series]
    assert names == ["Temp (column 2)", "Temp (column 3)"]


@pytest.mark.parametrize(
    ("heading", "unit", "name"),
    [
        ("Temp (°F)", "degF", "Temp"),
        ("CH1 [degC]", "degC", "CH1"),
        ("P1 °C", "degC", "P1"),
        ("Celsius Temperature", "degC", "Celsius Temperature"),
        ("Fahrenheit", "degF", "Fahrenheit"),
        ("Core (F)", "degF", "Core"),
        ("temp_c", "degC", "temp_c"),
        ("Temp, ℉", "degF", "Temp"),
        ("Kern ºC", "degC", "Kern"),
        ("Chamber deg F", "degF", "Chamber"),
        ("Humidity (%)", "percent", "Humidity"),
        ("RH", "percent", "RH"),
        ("Luft % r.F.", "percent", "Luft % r.F."),
    ],
)
def test_heading_with_a_unit_gives_unit_and_name(
    heading: str, unit: str, name: str
) -> None:
    understood = read(f'Time,"{heading}"\n2025-06-30 10:00,71.2\n')
    assert question_ids(understood) == []
    assert (understood.series[0].unit, understood.series[0].name) == (unit, name)


@pytest.mark.parametrize(
    "heading",
    ["P1", "Temp", "Sensor C", "Temp C1", "Fridge", "Temp °C/°F", "RH-09", "Probe F2"],
)
def test_heading_without_a_plain_unit_asks(heading: str) -> None:
    understood = read(f"Time,{heading}\n2025-06-30 10:00,71.2\n")
    assert question_ids(understood) == ["unit:1"]
    assert understood.series == ()


def test_heading_letters_that_name_sensors_are_no_units() -> None:
    understood = read("Time,Temp A,Temp C,Temp F\n2025-06-30 10:00,1.5,2.5,3.5\n")
    assert question_ids(understood) == ["unit:1", "unit:2", "unit:3"]


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("71.2", "71.2"),
        ("+71.2", "71.2"),
        ("−71.2", "-71.2"),
        (" 71.2 ", "71.2"),
        (".5", "0.5"),
        ("71.", "71"),
        ("7.12E+01", "71.2"),
        ("7.1e1", "71"),
        ("0.125", "0.125"),
        ("71.2000", "71.2000"),
        ("-40", "-40"),
    ],
)
def test_number_in_each_form_is_read_exactly(cell: str, value: str) -> None:
    assert values(read(f"Time,P1 °F\n2025-06-30 10:00,{cell}\n")) == [value]


def test_number_with_many_decimals_keeps_each_digit() -> None:
    text = "Time,P1 °F\n2025-06-30 10:00,71.200000000001\n2025-06-30 10:10,71.3\n"
    assert values(read(text)) == ["71.200000000001", "71.300000000000"]


def test_number_with_too_many_digits_is_left_out() -> None:
    text = "Time,P1 °F\n2025-06-30 10:00,71.2000000000001\n2025-06-30 10:10,71.3\n"
    assert reasons(read(text)) == {"a number with too many digits": 1}


def test_number_that_overflows_when_scaled_is_left_out() -> None:
    text = f"Time,P1 °F\n2025-06-30 10:00,{'9' * 17}\n2025-06-30 10:10,71.345\n"
    understood = read(text)
    assert values(understood) == ["71.345"]
    assert reasons(understood) == {"a number with too many digits": 1}


@pytest.mark.parametrize("group", ["'", "’", " ", "\u00a0", "\u202f"])
def test_thousands_parted_by_spaces_or_ticks_are_implausible_numbers(
    group: str,
) -> None:
    text = f"Time;P1 °F\n2025-06-30 10:00;1{group}234,5\n2025-06-30 10:10;71,3\n"
    assert reasons(read(text)) == {"not between -130 and 932 °F": 1}


def test_unit_in_the_cells_is_read() -> None:
    understood = read("Time,P1\n2025-06-30 10:00,71.2 F\n2025-06-30 10:10,71.3 F\n")
    assert understood.series[0].unit == "degF"
    assert understood.sensors[0].unit_known_by == "the text of the cells"


def test_units_mixed_in_the_cells_become_two_series() -> None:
    understood = read("Time,P1\n2025-06-30 10:00,71.2 °F\n2025-06-30 10:10,21.3 °C\n")
    assert [(s.unit, len(s)) for s in understood.series] == [("degF", 1), ("degC", 1)]


def test_unit_missing_in_some_cells_asks_for_those() -> None:
    text = "Time,P1\n2025-06-30 10:00,71.2 °F\n2025-06-30 10:10,21.3\n"
    assert question_ids(read(text)) == ["unit:1"]
    answered = read(text, answers={"unit:1": "degF"})
    assert values(answered) == ["71.2", "21.3"]


def test_unit_of_heading_and_cells_in_conflict_asks() -> None:
    text = "Time,P1 (°C)\n2025-06-30 10:00,71.2 F\n"
    question = read(text).questions[0]
    assert question.id == "unit:1@degF"
    assert [c.value for c in question.choices] == ["degF", "degC", "ignore"]
    assert read(text, answers={question.id: "degF"}).series[0].unit == "degF"


def test_pipe_table_with_empty_outer_cells_is_read() -> None:
    assert values(read("|Time|P1 °F|\n|2025-06-30 10:00|71.2|\n")) == ["71.2"]


def test_sep_line_with_a_tab_is_obeyed() -> None:
    assert read("sep=\t\nTime\tP1 °F\n2025-06-30 10:00\t71,2\n").delimiter == "tab"


def test_headings_in_two_units_of_a_lone_letter_ask() -> None:
    understood = read("Time,Core (C),Core (F)\n2025-06-30 10:00,21.2,70.2\n")
    assert question_ids(understood) == ["unit:1", "unit:2"]


def test_numbers_are_not_joined_across_tabs() -> None:
    understood = read("Time\tP1 °F\tP2 °F\n2025-06-30 10:00:00,5\t1\t100\n")
    assert [values(understood, index) for index in (0, 1)] == [["1"], ["100"]]


def test_cells_over_many_long_lines_are_no_table() -> None:
    text = '"' + ("x" * 15_000 + "\n") * 30 + '",1\nTime,P1 °F\n2025-06-30 10:00,71.2\n'
    assert values(read(text)) == ["71.2"]


def test_quotation_marks_for_inches_swallow_no_rows() -> None:
    note = ',5" pipe,"hot\n'
    rows = "".join(f"2025-06-30 10:{m:02},71.{m % 10}{note}" for m in range(40))
    assert len(read("Time,P1 °F,Pipe,Note\n" + rows).series[0]) == 40
