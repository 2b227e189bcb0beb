"""What the file leaves open is asked, never guessed."""

import pytest

from batches.loggerfile import Answers, LoggerFileError
from tests.batches.loggerfile.build import (
    instants,
    question_ids,
    read,
    reasons,
    said,
    values,
)


def dated(*dates: str, mark: str = "/") -> str:
    rows = "".join(f"{date.replace('/', mark)} 10:00,71.2\n" for date in dates)
    return "Time,P1 °F\n" + rows


def test_date_order_open_asks_with_both_readings() -> None:
    question = read(dated("07/03/2025")).questions[0]
    assert question.id == "date-order"
    assert [choice.example for choice in question.choices] == [
        "7 March 2025",
        "3 July 2025",
    ]
    assert (question.raised_by, question.line) == ("07/03/2025 10:00", 2)


@pytest.mark.parametrize(
    ("answer", "instant"),
    [("day-first", "2025-03-07T18:00:00Z"), ("month-first", "2025-07-03T17:00:00Z")],
)
def test_date_order_answered_is_used(answer: str, instant: str) -> None:
    understood = read(dated("07/03/2025"), answers={"date-order": answer})
    assert instants(understood) == [instant]
    assert understood.date_order_known_by == "you answered"


@pytest.mark.parametrize("mark", ["/", ".", "-"])
def test_date_order_is_not_taken_from_the_separator(mark: str) -> None:
    assert question_ids(read(dated("07/03/2025", mark=mark))) == ["date-order"]


def test_date_order_same_either_way_still_asks() -> None:
    assert question_ids(read(dated("05/05/2025", "06/06/2025"))) == ["date-order"]


def test_date_order_is_not_taken_from_the_order_of_rows() -> None:
    days = [f"{day:02}/06/2025" for day in range(1, 13)]
    assert question_ids(read(dated(*days))) == ["date-order"]


@pytest.mark.parametrize(
    ("proof", "order"), [("30/06/2025", "day-first"), ("06/30/2025", "month-first")]
)
def test_date_order_proven_by_one_date_anywhere_is_used(proof: str, order: str) -> None:
    understood = read(dated("07/03/2025", "08/03/2025", proof))
    assert understood.date_order == order
    assert f"“{proof} 10:00” (line 4) cannot be" in understood.date_order_known_by


def test_date_order_answer_against_the_proof_is_not_followed() -> None:
    understood = read(dated("30/06/2025"), answers={"date-order": "month-first"})
    assert understood.date_order == "day-first"
    assert instants(understood) == ["2025-06-30T17:00:00Z"]


def test_date_order_with_two_proofs_is_refused() -> None:
    with pytest.raises(LoggerFileError, match="do not stand in one order") as caught:
        read(dated("30/06/2025", "06/30/2025"))
    assert "line 2" in caught.value.what
    assert "line 3" in caught.value.what


def test_date_order_in_the_heading_is_used() -> None:
    understood = read("Time (MM/DD/YYYY),P1 °F\n07/03/2025 10:00,71.2\n")
    assert understood.date_order == "month-first"
    assert instants(understood) == ["2025-07-03T17:00:00Z"]


def test_date_order_in_the_heading_against_the_dates_is_refused() -> None:
    with pytest.raises(LoggerFileError, match="no date in the order"):
        read("Time (MM/DD/YYYY),P1 °F\n30/06/2025 10:00,71.2\n")


def test_date_with_two_digit_year_may_be_three_things() -> None:
    question = read(dated("10/11/12")).questions[0]
    assert [choice.example for choice in question.choices] == [
        "10 November 2012",
        "11 October 2012",
        "12 November 2010",
    ]


def test_date_with_two_digit_year_says_which_century() -> None:
    understood = read(dated("6/30/25"))
    assert instants(understood) == ["2025-06-30T17:00:00Z"]
    assert "20yy" in understood.date_order_known_by


@pytest.mark.parametrize("answer", ["sideways", "", "year-first"])
def test_date_order_answer_that_cannot_be_asks_again(answer: str) -> None:
    understood = read(dated("07/03/2025"), answers={"date-order": answer})
    assert question_ids(understood) == ["date-order"]


def test_unit_unknown_asks_for_each_sensor() -> None:
    understood = read("Time,P1,P2\n2025-06-30 10:00,71.2,20.1\n")
    assert question_ids(understood) == ["unit:1", "unit:2"]
    assert understood.questions[0].choices[0].example == "71.2 °F"
    assert [sensor.unit for sensor in understood.sensors] == [None, None]


def test_unit_answered_for_each_sensor_is_used() -> None:
    understood = read(
        "Time,P1,P2\n2025-06-30 10:00,71.2,20.1\n",
        answers={"unit:1": "degF", "unit:2": "degC"},
    )
    assert [series.unit for series in understood.series] == ["degF", "degC"]


def test_unit_answered_ignore_leaves_the_column_out() -> None:
    understood = read(
        "Time,P1,Fan\n2025-06-30 10:00,71.2,20.1\n",
        answers={"unit:1": "degF", "unit:2": "ignore"},
    )
    assert [series.name for series in understood.series] == ["P1"]
    assert understood.columns[2].role == "ignored"


def test_unit_answered_wrongly_asks_again() -> None:
    text = "Time,P1\n2025-06-30 10:00,71.2\n"
    assert question_ids(read(text, answers={"unit:1": "kelvin"})) == ["unit:1"]


def test_unit_answered_against_the_heading_is_warned_of() -> None:
    text = "Time,P1 °C\n2025-06-30 10:00,71.2\n"
    understood = read(text, answers={"unit:1": "degF"})
    assert understood.series[0].unit == "degF"
    assert "says °C" in understood.warnings[0]


def test_decimal_mark_open_asks() -> None:
    text = "Time;P1 °F\n2025-06-30 10:00;1,234\n"
    question = read(text).questions[0]
    assert question.id == "decimal"
    assert {choice.value for choice in question.choices} == {".", ","}
    assert values(read(text, answers={"decimal": ","})) == ["1.234"]


def test_decimal_point_open_asks_too() -> None:
    text = "Time,P1 °F\n2025-06-30 10:00,1.234\n"
    assert question_ids(read(text)) == ["decimal"]


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["1,234", "70,5"], ","),
        (["1.234", "70.5"], "."),
        (["21,325", "1,234"], ","),
        (["0,125", "1,234"], ","),
        (["1,234.5"], "."),
        (["1.234,5"], ","),
        (["1234.567"], "."),
        (["71", "72"], None),
    ],
)
def test_decimal_mark_proven_by_one_cell_is_used(
    cells: list[str], mark: str | None
) -> None:
    rows = "".join(
        f"2025-06-30 10:0{n};{cell}\n" for n, cell in enumerate([*cells, "7"])
    )
    understood = read(f"Time;P1 °F\n{rows}")
    assert question_ids(understood) == []
    assert understood.decimal_mark == mark


def test_decimal_marks_of_both_kinds_ask_and_leave_out_the_other() -> None:
    text = "Time;P1 °F\n2025-06-30 10:00;71.2\n2025-06-30 10:10;71,5\n"
    assert question_ids(read(text)) == ["decimal"]
    understood = read(text, answers={"decimal": "."})
    assert values(understood) == ["71.2"]
    assert reasons(understood) == {"not a number with a point before the decimals": 1}


def test_instant_columns_two_ask_which() -> None:
    text = (
        "Taken,Sent,P1 °F\n2025-06-30 10:00,2025-06-30 11:00,71.2\n"
        "2025-06-30 10:10,2025-06-30 11:10,71.3\n"
    )
    question = read(text).questions[0]
    assert [choice.value for choice in question.choices] == ["0", "1"]
    understood = read(text, answers={"instant-column": "1"})
    assert instants(understood)[0] == "2025-06-30T18:00:00Z"
    assert understood.columns[1].role == "instant"


def test_instant_column_that_never_changes_is_not_asked_about() -> None:
    text = (
        "Taken,Exported,P1 °F\n2025-06-30 10:00,2025-07-30 11:00,71.2\n"
        "2025-06-30 10:10,2025-07-30 11:00,71.3\n"
    )
    assert instants(read(text))[0] == "2025-06-30T17:00:00Z"


def test_answers_go_through_a_form_and_back() -> None:
    given = {
        "date-order": "day-first",
        "decimal": ",",
        "fold": "later",
        "unit:1": "degF",
        "unit:2:P1": "degC",
        "csrf": "ignored",
    }
    answers = Answers.from_mapping(given)
    assert answers.unit_by_column == {"1": "degF", "2:P1": "degC"}
    del given["csrf"]
    assert answers.as_mapping() == given


def test_questions_open_mean_no_series_but_a_preview() -> None:
    understood = read("Time,P1 °F,P2\n2025-06-30 10:00,71.2,20.1\n")
    assert not understood.is_ready
    assert understood.series == ()
    assert understood.span is not None
    assert understood.span.first_at.isoformat() == "2025-06-30T10:00:00-07:00"
    assert [sensor.count for sensor in understood.sensors] == [1, 1]


def test_questions_are_all_asked_at_once() -> None:
    understood = read("Time;P1\n07/03/2025 10:00;1,234\n")
    assert question_ids(understood) == ["decimal", "date-order"]
    answered = read(
        "Time;P1\n07/03/2025 10:00;1,234\n",
        answers={"decimal": ",", "date-order": "day-first", "unit:1": "degC"},
    )
    assert said(answered.series[0])[0][0] == "2025-03-07T18:00:00Z"


def test_date_with_two_digit_year_first_in_the_future_is_no_choice() -> None:
    understood = read(dated("30.06.25"))
    assert question_ids(understood) == []
    assert instants(understood) == ["2025-06-30T17:00:00Z"]


def test_date_with_two_digit_year_first_in_the_past_stays_a_choice() -> None:
    choices = read(dated("25/06/30")).questions[0].choices
    assert [choice.example for choice in choices] == ["25 June 2030", "30 June 2025"]


def test_date_with_one_digit_last_has_its_year_first() -> None:
    assert instants(read(dated("25/6/3"))) == ["2025-06-03T17:00:00Z"]


def test_date_order_answer_never_depends_on_today() -> None:
    understood = read(dated("01/12/2025", "01/11/2026"))
    assert question_ids(understood) == ["date-order"]


def test_date_order_answered_leaves_out_dates_of_the_future() -> None:
    text = dated("01/12/2025", "01/11/2026")
    understood = read(text, answers={"date-order": "day-first"})
    assert instants(understood) == ["2025-12-01T18:00:00Z"]
    assert understood.left_out[0].reason.startswith("in the future")
