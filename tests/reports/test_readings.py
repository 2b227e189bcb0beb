"""Typed readings on paper: who, when, how late, and what they were before."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from batches import recording
from batches.lookups import batch_of, records_of
from batches.models import Reading
from reports.observed import Scribe, letters
from reports.readings import reading_tables
from tests.factories import InstrumentFactory, ReadingFactory, StepMarkFactory, at

pytestmark = pytest.mark.django_db


@pytest.fixture
def first():
    return ReadingFactory(place="P1", value="415.0", occurred_at=at(10))


def tables_of(reading: Reading):
    records = records_of(batch_of(reading.batch.producer, reading.batch.code))
    scribe = Scribe(ZoneInfo("America/Detroit"))
    return reading_tables(records.readings, records.windows, scribe)


def beside(first, **changes):
    return ReadingFactory(batch=first.batch, by=first.by, **changes)


def corrected(first, **changes):
    told = {
        "step": first.step,
        "quantity": first.quantity,
        "place": first.place,
        "value": "145.0",
        "unit": "degF",
        "occurred_at": first.occurred_at,
        "by": first.by,
        "at": at(25),
        "corrects": first,
        "reason": "Digits turned.",
        "outside_window": True,
    }
    return recording.record_reading(first.batch, **(told | changes))


def test_readings_of_one_minute_are_one_row_with_a_column_for_each_place(first):
    beside(first, place="P2", value="140.2", occurred_at=at(10) + timedelta(seconds=9))
    beside(first, place="P2", value="141.0", occurred_at=at(20))
    (table,) = tables_of(first)
    assert table.title == "Heat: core temperature"
    assert [column.place for column in table.columns] == ["P1", "P2"]
    assert [row.at for row in table.rows] == ["2 May 2026 08:10", "08:20"]
    assert [len(cell) for cell in table.rows[1].cells] == [0, 1]


def test_value_is_printed_as_typed_with_the_other_unit_beside_it(first):
    (table,) = tables_of(first)
    ((mark,),) = table.rows[0].cells
    assert (mark.value, mark.also) == ("415.0", "212.8")
    assert (table.columns[0].unit, table.columns[0].also_unit) == ("°F", "°C")


def test_late_entry_says_how_late(first):
    beside(first, place="P1", occurred_at=at(20), recorded_at=at(20 + 45))
    (table,) = tables_of(first)
    assert [row.late for row in table.rows] == ["", "late by 45 min"]


def test_reading_outside_its_step_is_marked(first):
    for edge, minute in (("start", 10), ("end", 20)):
        StepMarkFactory(
            batch=first.batch, by=first.by, edge=edge, occurred_at=at(minute)
        )
    for minute in (9, 20, 21):
        beside(first, place="P1", occurred_at=at(minute))
    (table,) = tables_of(first)
    assert [row.is_outside for row in table.rows] == [True, False, False, True]


def test_correction_prints_both_values_who_when_and_why(first):
    corrected(first)
    (table,) = tables_of(first)
    ((was, now),) = table.rows[0].cells
    assert (was.value, was.is_replaced) == ("415.0", True)
    assert (now.value, now.is_replaced) == ("145.0", False)
    (note,) = table.notes
    assert was.notes == (note.mark,)
    for part in (
        "P1",
        "415.0 °F",
        "145.0 °F",
        "IF",
        "2 May 2026 08:25",
        "Digits turned",
    ):
        assert part in note.text


def test_correction_of_a_correction_prints_all_three(first):
    second = corrected(first)
    corrected(second, value="145.5", reason="Still wrong.")
    (table,) = tables_of(first)
    assert [mark.value for mark in table.rows[0].cells[0]] == [
        "415.0",
        "145.0",
        "145.5",
    ]
    assert [mark.is_replaced for mark in table.rows[0].cells[0]] == [True, True, False]
    assert len(table.notes) == 2


def test_correction_of_the_instant_moves_the_new_value_to_its_own_row(first):
    corrected(first, occurred_at=at(15))
    (table,) = tables_of(first)
    assert [row.at for row in table.rows] == ["2 May 2026 08:10", "08:15"]
    assert "08:10" in table.notes[0].text
    assert "08:15" in table.notes[0].text


def test_reading_taken_back_stays_on_paper(first):
    recording.withdraw(first, reason="Wrong batch.", by=first.by, at=at(12))
    (table,) = tables_of(first)
    ((mark,),) = table.rows[0].cells
    assert mark.is_replaced
    assert "taken back by IF" in table.notes[0].text
    assert "Wrong batch" in table.notes[0].text


def test_instruments_at_one_place_have_columns_of_their_own(first):
    other = InstrumentFactory(producer=first.batch.producer, code="P9")
    beside(first, place="P1", occurred_at=at(20), instrument=other)
    (table,) = tables_of(first)
    assert [column.instrument for column in table.columns] == ["no instrument", "P9"]


def test_many_places_are_split_over_tables_and_no_value_is_lost(first):
    for n in range(2, 15):
        beside(first, place=f"P{n:02}", occurred_at=at(10))
    tables = tables_of(first)
    assert [len(table.columns) for table in tables] == [6, 6, 2]
    marks = [m for t in tables for row in t.rows for cell in row.cells for m in cell]
    assert len(marks) == 14


def test_notes_never_run_out_of_letters():
    marks = letters(60)
    assert len(set(marks)) == 60
    assert marks[25:28] == ["z", "aa", "ab"]
