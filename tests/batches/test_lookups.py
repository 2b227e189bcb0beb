"""Every read: scoped by producer, in a fixed number of queries."""

from datetime import timedelta

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import ObjectDoesNotExist
from django.http import HttpResponse
from django.test import RequestFactory

from batches import lookups, recording
from batches.lookups.lists import KINDS
from batches.middleware import MemberMiddleware
from tests import factories
from tests.batches.any_row import AnyRow
from tests.factories import START, at

pytestmark = pytest.mark.django_db

QUERIES_OF_A_BATCH = 11
QUERIES_OF_NOW = 7


def full_batch(**told):
    """Make a batch with one row of each kind, a correction and an instrument."""
    batch = factories.BatchFactory(**told)
    probe = factories.InstrumentFactory(producer=batch.producer)
    factories.InstrumentCheckFactory(instrument=probe, by=batch.by)
    report = factories.LabResultFactory(batch=batch)
    factories.ReadingFactory(
        batch=batch, lab_result=report, quantity="salt", unit="percent", value=3
    )
    first = factories.ReadingFactory(batch=batch, instrument=probe)
    factories.ReadingFactory(
        batch=batch, instrument=probe, corrects=first, reason="misread"
    )
    factories.TraceFactory(batch=batch, instrument=probe)
    factories.StepMarkFactory(batch=batch)
    factories.StatementFactory(batch=batch)
    factories.NamedDateFactory(batch=batch)
    factories.RemarkFactory(batch=batch)
    factories.BatchLotFactory(batch=batch)
    return batch


def walk(records):
    """Read all that a page or a document would read of a batch."""
    batch = records.batch
    words = [batch.product.name, batch.premises.zone.key, batch.producer.name]
    kinds = (
        records.marks,
        records.readings,
        records.traces,
        records.statements,
        records.dates,
        records.remarks,
        records.lab_results,
        records.checks,
    )
    for rows in kinds:
        for row in rows.all:
            words += [row.by.initials, str(row), row.reason]
            words += [str(row.corrects), str(rows.correction_of(row))]
            if rows is not records.checks:
                words += [row.batch.code, row.is_late, row.batch.premises.name]
    for row in (*records.readings.all, *records.traces.all):
        words.append(row.instrument and row.instrument.code)
    words += [
        row.lab_result and row.lab_result.laboratory for row in records.readings.all
    ]
    words += [row.logger_file.name for row in records.traces.all]
    words += [row.instrument.code for row in records.checks.all]
    words += [row.lot.code for row in records.lots]
    return words


@pytest.mark.parametrize("more", [0, 40])
def test_records_of_a_batch_take_eleven_queries_however_many_rows(
    more, django_assert_num_queries
):
    made = full_batch()
    probe = made.producer.instruments.get()
    for n in range(more):
        factories.ReadingFactory(batch=made, instrument=probe, occurred_at=at(n))
        factories.StatementFactory(batch=made, what=f"label-{n}")
    batch = lookups.batch_of(made.producer, made.code)
    with django_assert_num_queries(QUERIES_OF_A_BATCH):
        assert walk(lookups.records_of(batch))


def test_records_hold_all_rows_and_those_that_count():
    made = full_batch()
    records = lookups.records_of(lookups.batch_of(made.producer, made.code))
    wrong = next(row for row in records.readings.all if row.corrections.exists())
    right = records.readings.correction_of(wrong)
    assert right.corrects is wrong
    assert wrong in records.readings.all
    assert wrong not in records.readings.current
    assert right in records.readings.current
    assert records.readings.correction_of(right) is None
    assert [row.code for row in records.instruments] == [right.instrument.code]


def test_records_as_of_an_instant_know_nothing_of_later_corrections():
    made = factories.BatchFactory()
    told = {"batch": made, "occurred_at": START}
    wrong = factories.ReadingFactory(recorded_at=at(1), **told)
    gone = factories.ReadingFactory(
        recorded_at=at(5), corrects=wrong, reason="slip", withdrawn=True, **told
    )
    back = factories.ReadingFactory(
        recorded_at=at(9), corrects=gone, reason="was right", **told
    )
    rows = lookups.records_of(lookups.batch_of(made.producer, made.code)).readings
    assert rows.as_of(at(0)) == ()
    assert rows.as_of(at(1)) == (wrong,)
    assert rows.as_of(at(5)) == ()
    assert rows.as_of(at(9)) == (back,) == rows.current


def test_windows_are_in_the_order_of_the_work():
    made = factories.BatchFactory()
    factories.StepMarkFactory(batch=made, step="cooling", occurred_at=at(200))
    factories.StepMarkFactory(batch=made, step="heating", occurred_at=at(0))
    factories.StepMarkFactory(
        batch=made, step="heating", edge="end", occurred_at=at(190)
    )
    records = lookups.records_of(lookups.batch_of(made.producer, made.code))
    assert [(w.step, w.is_open) for w in records.windows.values()] == [
        ("heating", False),
        ("cooling", True),
    ]
    assert records.last_recorded_at == at(200) + timedelta(seconds=20)


def test_batch_without_entries_was_last_written_when_it_was_started():
    made = factories.BatchFactory()
    records = lookups.records_of(lookups.batch_of(made.producer, made.code))
    assert records.last_recorded_at == made.recorded_at
    assert records.windows == {}


class TestApart:
    """What belongs to another producer does not exist."""

    def test_codes_of_another_producer_are_not_found(self):
        mine, other = factories.ProducerFactory(), factories.BatchFactory(code="B-1")
        lot = factories.LotFactory(producer=other.producer)
        tool = factories.InstrumentFactory(producer=other.producer)
        for look, code in (
            (lookups.batch_of, other.code),
            (lookups.lot_of, lot.code),
            (lookups.instrument_of, tool.code),
        ):
            assert look(other.producer, code).code == code
            with pytest.raises(ObjectDoesNotExist):
                look(mine, code)

    def test_same_code_finds_ones_own(self):
        mine = factories.BatchFactory(code="B-1")
        other = factories.BatchFactory(code="B-1")
        assert lookups.batch_of(mine.producer, "B-1") == mine
        assert lookups.batch_of(other.producer, "B-1") == other

    def test_lists_hold_ones_own_only(self):
        mine, other = full_batch(), full_batch()
        assert set(lookups.batches_of(mine.producer)) == {mine}
        assert set(lookups.lots_of(mine.producer)) == set(mine.lots.all())
        assert set(lookups.products_of(mine.producer)) == {mine.product}
        assert set(lookups.premises_of(mine.producer)) == {mine.premises}
        assert [s.instrument for s in lookups.instruments_of(mine.producer)] == list(
            mine.producer.instruments.all()
        )
        assert other.producer.instruments.exists()

    @pytest.mark.parametrize("kind", KINDS)
    def test_row_of_another_producer_is_not_found(self, kind):
        row = {
            "check": factories.InstrumentCheckFactory,
            "date": factories.NamedDateFactory,
            "lab-result": factories.LabResultFactory,
            "reading": factories.ReadingFactory,
            "remark": factories.RemarkFactory,
            "statement": factories.StatementFactory,
            "step": factories.StepMarkFactory,
            "trace": factories.TraceFactory,
        }.get(kind, AnyRow(KINDS[kind]))()
        owner = row.instrument.producer if kind == "check" else row.batch.producer
        assert lookups.row_of(owner, kind, row.pk) == row
        with pytest.raises(ObjectDoesNotExist):
            lookups.row_of(factories.ProducerFactory(), kind, row.pk)

    def test_records_never_take_in_an_instrument_of_another_producer(self):
        made = factories.BatchFactory()
        factories.ReadingFactory(batch=made, instrument=factories.InstrumentFactory())
        batch = lookups.batch_of(made.producer, made.code)
        with pytest.raises(KeyError):
            lookups.records_of(batch)


class TestMember:
    def test_stranger_has_no_member(self):
        assert lookups.member_of(AnonymousUser()) is None
        assert lookups.member_of(factories.UserFactory()) is None

    def test_member_comes_with_the_producer(self, django_assert_num_queries):
        made = factories.MemberFactory()
        with django_assert_num_queries(1):
            assert lookups.member_of(made.user).producer.name == made.producer.name

    @pytest.mark.parametrize("signed_in", [True, False])
    def test_middleware_tells_the_page(self, signed_in):
        made = factories.MemberFactory()
        request = RequestFactory().get("/")
        request.user = made.user if signed_in else AnonymousUser()
        request.session = {}
        MemberMiddleware(lambda seen: HttpResponse())(request)
        told = (request.member, request.producer)
        assert told == ((made, made.producer) if signed_in else (None, None))


class TestInstrumentState:
    def test_last_check_that_counts_decides_when_the_next_is_due(self):
        tool = factories.InstrumentFactory(check_every_days=7)
        told = {
            "instrument": tool,
            "by": factories.MemberFactory(producer=tool.producer),
        }
        factories.InstrumentCheckFactory(occurred_at=START, **told)
        wrong = factories.InstrumentCheckFactory(
            occurred_at=START + timedelta(days=3), **told
        )
        recording.withdraw(wrong, reason="other probe", by=told["by"], at=at(9000))
        (state,) = lookups.instruments_of(tool.producer)
        assert state.last_check.occurred_at == START
        assert state.due_on(START) == (START + timedelta(days=7)).date()
        assert not state.is_due(START + timedelta(days=6))
        assert state.is_due(START + timedelta(days=7))

    def test_instrument_never_checked_is_due(self):
        tool = factories.InstrumentFactory()
        (state,) = lookups.instruments_of(tool.producer)
        assert state.due_on(START) is None
        assert state.is_due(START)

    def test_list_takes_two_queries(self, django_assert_num_queries):
        by = factories.MemberFactory()
        for _ in range(3):
            tool = factories.InstrumentFactory(producer=by.producer)
            factories.InstrumentCheckFactory(instrument=tool, by=by)
        with django_assert_num_queries(2):
            states = lookups.instruments_of(by.producer)
            assert [state.last_check.by.initials for state in states] == ["IF"] * 3


class TestLastReading:
    def test_last_typed_reading_of_the_step_is_offered(self):
        made = factories.BatchFactory()
        factories.ReadingFactory(batch=made, place="A", occurred_at=at(1))
        last = factories.ReadingFactory(batch=made, place="B", occurred_at=at(2))
        factories.ReadingFactory(batch=made, step="cooling", occurred_at=at(3))
        told = {"step": "heating", "quantity": "core-temperature"}
        assert lookups.last_reading_of(made, **told) == last
        assert lookups.last_reading_of(factories.BatchFactory(), **told) is None


class TestNow:
    def running(self, producer, now=START):
        return [one.batch for one in lookups.now_list(producer, now=now).running]

    def test_batch_runs_until_it_is_packed(self):
        made = factories.BatchFactory()
        assert self.running(made.producer) == [made]
        factories.StepMarkFactory(batch=made, step="packing", edge="start")
        end = factories.StepMarkFactory(batch=made, step="packing", edge="end")
        assert self.running(made.producer) == []
        recording.withdraw(end, reason="one tray more", by=made.by, at=at(9))
        assert self.running(made.producer) == [made]

    def test_batch_runs_while_a_step_goes_on_and_between_steps(self):
        made = factories.BatchFactory()
        factories.StepMarkFactory(batch=made, step="heating")
        factories.StepMarkFactory(batch=made, step="heating", edge="end")
        assert self.running(made.producer) == [made]
        factories.StepMarkFactory(batch=made, step="packing")
        factories.StepMarkFactory(batch=made, step="packing", edge="end")
        factories.StepMarkFactory(batch=made, step="cold-holding")
        assert self.running(made.producer) == [made]
        factories.StepMarkFactory(batch=made, step="cold-holding", edge="end")
        assert self.running(made.producer) == []

    def test_next_check_is_due_after_the_last_reading_or_the_start(self):
        made = factories.BatchFactory(
            product=factories.ProductFactory(heating_check_min=10)
        )
        factories.StepMarkFactory(batch=made, step="heating", occurred_at=at(5))
        (one,) = lookups.now_list(made.producer, now=at(6)).running
        assert (one.open_steps[0].last_at, one.due_at) == (None, at(15))
        factories.ReadingFactory(batch=made, occurred_at=at(12))
        factories.TraceFactory(batch=made, first_at=at(0), typed=("1.0", "2.0"))
        (one,) = lookups.now_list(made.producer, now=at(13)).running
        assert (one.open_steps[0].last_at, one.due_at) == (at(12), at(22))

    def test_step_without_an_interval_is_never_due(self):
        made = factories.BatchFactory()
        factories.StepMarkFactory(batch=made, step="curing")
        (one,) = lookups.now_list(made.producer, now=START).running
        assert one.due_at is None

    def test_most_urgent_batch_comes_first(self):
        quiet = factories.BatchFactory(started_at=at(60))
        told = {"producer": quiet.producer}
        late = factories.BatchFactory(started_at=at(0), **told)
        soon = factories.BatchFactory(started_at=at(0), **told)
        factories.StepMarkFactory(batch=late, step="heating", occurred_at=at(30))
        factories.StepMarkFactory(batch=soon, step="heating", occurred_at=at(20))
        assert self.running(quiet.producer) == [soon, late, quiet]

    def test_use_by_is_near_for_a_week_and_a_day_after(self):
        made = factories.BatchFactory()
        date = factories.NamedDateFactory(batch=made, occurs_at=START)
        day = timedelta(days=1)
        for now, near in (
            (START - 8 * day, []),
            (START - 7 * day, [date]),
            (START + day, [date]),
            (START + 2 * day, []),
        ):
            found = lookups.now_list(made.producer, now=now).use_by_near
            assert [each.use_by for each in found] == near

    def test_instruments_that_are_due_are_named(self):
        tool = factories.InstrumentFactory()
        (state,) = lookups.now_list(tool.producer, now=START).instruments_due
        assert state.instrument == tool

    def test_other_producers_do_not_show(self):
        full_batch()
        mine = factories.ProducerFactory()
        now = lookups.now_list(mine, now=START)
        assert now == lookups.NowList((), (), ())

    @pytest.mark.parametrize("many", [1, 5])
    def test_now_takes_the_same_queries_however_many_batches(
        self, many, django_assert_num_queries
    ):
        first = full_batch()
        for _ in range(many - 1):
            full_batch(producer=first.producer)
        with django_assert_num_queries(QUERIES_OF_NOW):
            now = lookups.now_list(first.producer, now=START)
            words = [(one.batch.product.name, one.due_at) for one in now.running]
            words += [each.batch.premises.name for each in now.use_by_near]
            assert len(words) >= many
