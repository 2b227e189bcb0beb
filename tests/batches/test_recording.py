"""Every write: what it keeps, what it refuses, and that it writes all or nothing."""

from datetime import datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace
from uuid import uuid4

import numpy as np
import pytest
from django.core.files.storage import default_storage

from batches import models, recording
from batches.errors import RecordError
from tests import factories
from tests.factories import PASSWORD, START, ZONE, at

pytestmark = pytest.mark.django_db


@pytest.fixture
def batch():
    return factories.BatchFactory()


@pytest.fixture
def by(batch):
    return batch.by


def refused(code, field=None, words=""):
    """Expect a refusal with a code, beside a field, that says some words."""
    return pytest.raises(
        RecordError,
        check=lambda error: (
            error.code == code
            and (field is None or error.field == field)
            and words in str(error)
            and str(error).endswith(".")
        ),
    )


def read(batch, value="145.0", minutes=0, **told):
    told = {
        "step": "heating",
        "quantity": "core-temperature",
        "unit": "degF",
        "occurred_at": at(minutes),
        "by": batch.by,
        "at": at(minutes) + timedelta(seconds=20),
        **told,
    }
    return recording.record_reading(batch, value=value, **told)


def mark(batch, step="heating", edge="start", minutes=0, **told):
    told = {"by": batch.by, "at": at(max(minutes, 0)), **told}
    return recording.mark_step(
        batch, step=step, edge=edge, occurred_at=at(minutes), **told
    )


class TestPeople:
    FIRM = {
        "name": "Brackenshoal Smokehouse",
        "owner_name": "Ida Fenwarren",
        "initials": "IF",
        "username": "ida",
        "password": PASSWORD,
        "premises_name": "Shed",
        "address": "14 Ropewalk Lane",
        "time_zone": "America/Detroit",
        "elevation_m": "195",
        "temperature_unit": "degF",
        "jurisdiction": "US-MI",
        "paper": "letter",
        "at": START,
    }

    def test_first_run_makes_producer_premises_and_owner(self):
        owner = recording.create_producer(**self.FIRM)
        assert owner.role == "owner"
        assert owner.user.check_password(PASSWORD)
        assert owner.producer.slug == "brackenshoal-smokehouse"
        place = owner.producer.premises.get()
        assert (place.zone, place.elevation_m) == (ZONE, Decimal(195))

    def test_second_producer_of_one_name_gets_another_slug(self):
        recording.create_producer(**self.FIRM)
        second = recording.create_producer(**{**self.FIRM, "username": "ada"})
        assert second.producer.slug == "brackenshoal-smokehouse-2"

    @pytest.mark.parametrize(
        ("wrong", "field"),
        [
            ({"name": " "}, "name"),
            ({"owner_name": ""}, "owner_name"),
            ({"initials": ""}, "initials"),
            ({"initials": "ABCDEFGHI"}, "initials"),
            ({"username": ""}, "username"),
            ({"password": "short"}, "password"),
            ({"premises_name": ""}, "premises_name"),
            ({"time_zone": "Lake/Shore"}, "time_zone"),
            ({"time_zone": "../etc"}, "time_zone"),
            ({"elevation_m": "high"}, "elevation_m"),
            ({"temperature_unit": "kelvin"}, "temperature_unit"),
            ({"jurisdiction": "Michigan"}, "jurisdiction"),
            ({"jurisdiction": ""}, "jurisdiction"),
            ({"paper": "napkin"}, "paper"),
            ({"at": datetime(2026, 5, 2)}, "at"),  # noqa: DTZ001
        ],
    )
    def test_first_run_refuses_and_stores_nothing(self, wrong, field):
        with pytest.raises(RecordError) as refusal:
            recording.create_producer(**{**self.FIRM, **wrong})
        assert refusal.value.field == field
        assert not models.Producer.objects.exists()
        assert not models.Member.objects.exists()

    def test_name_to_sign_in_is_taken_in_any_case(self):
        recording.create_producer(**self.FIRM)
        with refused("taken", "username"):
            recording.create_producer(**{**self.FIRM, "username": "IDA"})

    def test_owner_adds_a_reviewer_and_a_maker_may_not(self):
        owner = recording.create_producer(**self.FIRM)
        told = {
            "name": "Tobin Marchetwell",
            "initials": "TM",
            "password": PASSWORD,
            "temperature_unit": "degC",
            "at": START,
        }
        maker = recording.add_member(
            owner.producer, username="tm", role="maker", by=owner, **told
        )
        assert maker.producer == owner.producer
        with refused("not-allowed"):
            recording.add_member(
                owner.producer, username="x", role="maker", by=maker, **told
            )
        with refused("invalid", "role"):
            recording.add_member(
                owner.producer, username="y", role="boss", by=owner, **told
            )

    def test_inspector_and_stranger_record_nothing(self, batch):
        inspector = factories.MemberFactory(producer=batch.producer, role="inspector")
        with refused("not-allowed", words="may not do this"):
            read(batch, by=inspector)
        with refused("not-allowed", words="not a member"):
            read(batch, by=factories.MemberFactory())
        assert not models.Reading.objects.exists()

    def test_reviewer_may_record(self, batch):
        reviewer = factories.MemberFactory(producer=batch.producer, role="reviewer")
        assert read(batch, by=reviewer).by == reviewer


class TestProductsAndLots:
    def add(self, by, **told):
        told = {"name": "Smoked coho", "process": "hot-smoked", "at": START, **told}
        return recording.add_product(by.producer, by=by, **told)

    def test_product_keeps_what_is_known_and_leaves_the_rest_blank(self):
        made = self.add(
            factories.MemberFactory(),
            facts={"nitrite-added": "no", "eviscerated": ""},
            thickest_mm="32.0",
        )
        assert made.facts == {"nitrite-added": "no"}
        assert (made.food, made.packaging) == ("", "")
        assert str(made.thickest_mm) == "32.0"
        assert made.heating_check_min > 0

    @pytest.mark.parametrize(
        ("wrong", "field"),
        [
            ({"process": "boiled"}, "process"),
            ({"food": "Coho Salmon"}, "food"),
            ({"facts": {"colour": "red"}}, "facts"),
            ({"facts": {"process": "raw"}}, "facts"),
            ({"facts": {"eviscerated": "maybe"}}, "eviscerated"),
            ({"thickest_mm": "0"}, "thickest_mm"),
            ({"thickest_mm": "3200"}, "thickest_mm"),
            ({"heating_check_min": 0}, "heating_check_min"),
            ({"heating_check_min": 31}, "heating_check_min"),
            ({"shelf_life_days": -1}, "shelf_life_days"),
        ],
    )
    def test_product_refuses_what_no_product_has(self, wrong, field):
        by = factories.MemberFactory()
        with pytest.raises(RecordError) as refusal:
            self.add(by, **wrong)
        assert refusal.value.field == field
        assert not by.producer.products.exists()

    def test_product_name_is_used_once(self):
        by = factories.MemberFactory()
        self.add(by)
        with refused("taken", "name"):
            self.add(by)

    def receive(self, by, **told):
        told = {
            "code": "RL-01",
            "food": "coho-salmon",
            "supplier": "Windle Bar Fishers",
            "received_at": START,
            "mass_kg": "45.0",
            "at": START,
            **told,
        }
        return recording.receive_lot(by.producer, by=by, **told)

    def test_lot_keeps_its_weight_as_typed(self):
        lot = self.receive(factories.MemberFactory(), supplier_code="WB-2214")
        assert str(models.Lot.objects.get(pk=lot.pk).mass_kg) == "45.0"
        assert lot.by_name == "Ida Fenwarren"

    @pytest.mark.parametrize(
        ("wrong", "code"),
        [
            ({"code": "RL 01"}, "bad-code"),
            ({"code": "receive"}, "bad-code"),
            ({"code": ""}, "blank"),
            ({"food": ""}, "blank"),
            ({"food": "Coho!"}, "unknown-fact"),
            ({"supplier": ""}, "blank"),
            ({"mass_kg": "0"}, "not-positive"),
            ({"mass_kg": "-3"}, "not-positive"),
            ({"mass_kg": "4,500"}, "not-a-number"),
            ({"received_at": START + timedelta(minutes=3)}, "future"),
        ],
    )
    def test_lot_refuses(self, wrong, code):
        with refused(code):
            self.receive(factories.MemberFactory(), **wrong)

    def test_lot_code_is_used_once_per_producer(self):
        by = factories.MemberFactory()
        self.receive(by)
        self.receive(factories.MemberFactory())
        with refused("taken", "code"):
            self.receive(by)


class TestStart:
    def start(self, by, **told):
        told = {
            "product": factories.ProductFactory(producer=by.producer),
            "premises": factories.PremisesFactory(producer=by.producer),
            "started_at": START,
            "at": START,
            **told,
        }
        return recording.start_batch(by.producer, by=by, **told)

    def test_batch_takes_from_its_lots(self):
        by = factories.MemberFactory()
        lots = factories.LotFactory.create_batch(2, producer=by.producer)
        batch = self.start(by, lots=[(lots[0], "14.0"), (lots[1], Decimal("2.5"))])
        assert [(row.lot, str(row.mass_kg)) for row in batch.batch_lots.all()] == [
            (lots[0], "14.0"),
            (lots[1], "2.5"),
        ]

    def test_codes_count_on_within_the_month_of_the_premises(self):
        by = factories.MemberFactory()
        assert self.start(by).code == "2605-01"
        self.start(by, code="2605-09")
        self.start(by, code="2605-x")
        assert self.start(by).code == "2605-10"
        new_year = datetime(2026, 12, 31, 23, 30, tzinfo=ZONE)
        assert self.start(by, started_at=new_year, at=new_year).code == "2612-01"
        assert self.start(factories.MemberFactory()).code == "2605-01"

    def test_form_sent_twice_starts_one_batch(self):
        by = factories.MemberFactory()
        lot = factories.LotFactory(producer=by.producer)
        told = {
            "product": factories.ProductFactory(producer=by.producer),
            "premises": factories.PremisesFactory(producer=by.producer),
            "lots": [(lot, "14.0")],
            "entry_id": uuid4(),
        }
        batch = self.start(by, **told)
        assert self.start(by, **told) == batch
        assert models.Batch.objects.count() == 1
        for other in ({"lots": [(lot, "14.5")]}, {"code": "B-7"}, {"note": "wet"}):
            with refused("entry-id-used"):
                self.start(by, **told | other)
        assert models.Batch.objects.count() == models.BatchLot.objects.count() == 1

    def test_code_given_twice_is_refused(self):
        by = factories.MemberFactory()
        self.start(by, code="B-7")
        with refused("taken", "code"):
            self.start(by, code="B-7")

    @pytest.mark.parametrize("code", ["a/b", "start", "-1", "ü"])
    def test_code_that_breaks_an_address_is_refused(self, code):
        with refused("bad-code", "code"):
            self.start(factories.MemberFactory(), code=code)

    def test_what_belongs_to_another_producer_is_not_found(self):
        by = factories.MemberFactory()
        with refused("not-found", "product"):
            self.start(by, product=factories.ProductFactory())
        with refused("not-found", "premises"):
            self.start(by, premises=factories.PremisesFactory())
        with refused("not-found", "lots"):
            self.start(by, lots=[(factories.LotFactory(), "1")])
        assert not models.Batch.objects.filter(producer=by.producer).exists()

    def test_one_lot_twice_or_without_weight_is_refused_and_nothing_is_stored(self):
        by = factories.MemberFactory()
        lot = factories.LotFactory(producer=by.producer)
        with refused("lot-twice"):
            self.start(by, lots=[(lot, "1"), (lot, "2")])
        with refused("not-positive", "lots"):
            self.start(by, lots=[(lot, "0")])
        assert not models.Batch.objects.exists()

    def test_start_in_the_future_is_refused_in_wall_time(self):
        with refused("future", "started_at", "2026-05-02 08:03"):
            self.start(factories.MemberFactory(), started_at=at(3))


class TestSteps:
    def test_step_starts_and_ends(self, batch):
        mark(batch, minutes=0)
        end = mark(batch, edge="end", minutes=185)
        assert (end.edge, end.by_name) == ("end", batch.by.name)

    def test_second_start_is_refused_and_names_the_first(self, batch):
        mark(batch, minutes=5)
        with refused("already-marked", "edge", "2026-05-02 08:05"):
            mark(batch, minutes=10)

    def test_start_after_the_end_asks_to_take_the_end_back(self, batch):
        mark(batch)
        end = mark(batch, edge="end", minutes=60)
        with refused("already-marked", "edge", "take that end back"):
            mark(batch, minutes=70)
        recording.withdraw(end, reason="went on", by=batch.by, at=at(71))
        assert mark(batch, edge="end", minutes=90).pk

    def test_end_without_start_is_refused(self, batch):
        with refused("no-start", "edge"):
            mark(batch, edge="end", minutes=10)

    def test_end_before_start_is_refused_and_at_the_start_is_not(self, batch):
        mark(batch, minutes=10)
        with refused("end-before-start", "occurred_at", "2026-05-02 08:09"):
            mark(batch, edge="end", minutes=9, at=at(10))
        assert mark(batch, edge="end", minutes=10).pk

    def test_start_corrected_past_the_end_is_refused(self, batch):
        start = mark(batch)
        mark(batch, edge="end", minutes=60)
        with refused("end-before-start"):
            mark(batch, minutes=61, corrects=start, reason="clock", at=at(70))
        later = mark(batch, minutes=30, corrects=start, reason="clock", at=at(70))
        assert list(batch.stepmarks.current().filter(edge="start")) == [later]

    def test_start_under_an_end_cannot_be_taken_back(self, batch):
        start = mark(batch)
        end = mark(batch, edge="end", minutes=60)
        told = {"reason": "wrong batch", "by": batch.by, "at": at(61)}
        with refused("end-alone"):
            recording.withdraw(start, **told)
        recording.withdraw(end, **told)
        recording.withdraw(start, **told)
        assert not batch.stepmarks.current().exists()
        assert batch.stepmarks.count() == 4

    def test_correction_cannot_turn_a_start_into_an_end(self, batch):
        start = mark(batch)
        for changed in ({"edge": "end"}, {"step": "cooling"}):
            with refused("wrong-row", "corrects"):
                mark(batch, minutes=5, corrects=start, reason="slip", **changed)

    def test_restoring_a_start_beside_a_new_one_is_refused(self, batch):
        start = mark(batch)
        gone = recording.withdraw(start, reason="early", by=batch.by, at=at(1))
        mark(batch, minutes=5)
        with refused("already-marked"):
            mark(batch, minutes=0, corrects=gone, reason="was right", at=at(6))

    def test_future_and_unknown_are_refused(self, batch):
        with refused("future", "occurred_at"):
            mark(batch, minutes=3, at=at(0))
        assert mark(batch, minutes=2, at=at(0)).pk
        with refused("unknown-step", "step", "heating"):
            mark(batch, step="grilling")
        with refused("invalid", "edge"):
            mark(batch, step="cooling", edge="middle")


class TestReadings:
    def test_reading_is_kept_as_typed_with_both_instants(self, batch):
        tool = factories.InstrumentFactory(producer=batch.producer)
        row = read(batch, " 145.0 ", place=" A ", instrument=tool)
        again = models.Reading.objects.get(pk=row.pk)
        assert (again.typed, again.place) == ("145.0", "A")
        assert again.recorded_at - again.occurred_at == timedelta(seconds=20)

    @pytest.mark.parametrize(
        ("typed", "kept"),
        [
            ("145,0", "145.0"),
            ("\N{MINUS SIGN}0.5", "-0.5"),
            ("0,912", "0.912"),
            (Decimal("144.90"), "144.90"),
            (Decimal("1E+2"), "100"),
            (145, "145"),
        ],
    )
    def test_number_is_understood(self, batch, typed, kept):
        assert read(batch, typed).typed == kept

    @pytest.mark.parametrize(
        "typed",
        ["", "warm", "1,450", "1.2.3", "1e2", "NaN", "inf", ".", "14 5", "٣", True],
    )
    def test_what_is_no_number_is_refused(self, batch, typed):
        with refused("not-a-number", "value"):
            read(batch, typed)

    @pytest.mark.parametrize(
        ("told", "code", "field", "words"),
        [
            ({"value": "1450"}, "implausible", "value", "decimal point"),
            ({"value": "-100"}, "implausible", "value", ""),
            ({"unit": "percent"}, "wrong-unit", "unit", "degF or degC"),
            ({"unit": "kelvin"}, "wrong-unit", "unit", ""),
            ({"quantity": "taste"}, "unknown-quantity", "quantity", "salt"),
            ({"step": "grilling"}, "unknown-step", "step", ""),
            ({"occurred_at": at(3)}, "future", "occurred_at", "in the future"),
            ({"occurred_at": datetime(2026, 5, 2)}, "no-zone", "occurred_at", ""),  # noqa: DTZ001
            ({"place": "x" * 41}, "invalid", "place", ""),
            ({"value": "145." + "0" * 25}, "invalid", "value", ""),
            ({"entry_id": "nonsense"}, "bad-entry-id", "entry_id", ""),
        ],
    )
    def test_bad_reading_is_refused_with_a_sentence(
        self, batch, told, code, field, words
    ):
        with refused(code, field, words):
            read(batch, at=at(0), **told)
        assert not models.Reading.objects.exists()

    def test_clock_two_minutes_ahead_is_accepted(self, batch):
        assert read(batch, occurred_at=at(2), at=at(0)).pk

    def test_instrument_of_another_producer_or_kind_is_refused(self, batch):
        with refused("not-found", "instrument"):
            read(batch, instrument=factories.InstrumentFactory())
        meter = factories.InstrumentFactory(
            producer=batch.producer, measures="ph", unit="1"
        )
        with refused("wrong-instrument", "instrument"):
            read(batch, instrument=meter)
        with refused("wrong-instrument", "instrument"):
            read(batch, "3.2", quantity="salt", unit="percent", instrument=meter)

    def test_laboratory_of_another_batch_is_not_found(self, batch):
        with refused("not-found", "lab_result"):
            read(batch, lab_result=factories.LabResultFactory())

    def test_reading_outside_its_window_must_be_confirmed(self, batch):
        mark(batch, minutes=10)
        mark(batch, edge="end", minutes=60)
        for minutes, words in ((9, "started at 2026-05-02 08:10"), (61, "ended at")):
            with refused("outside-window", "occurred_at", words):
                read(batch, minutes=minutes, at=at(70))
            assert read(batch, minutes=minutes, at=at(70), outside_window=True).pk
        assert read(batch, minutes=10, at=at(70)).pk
        assert read(batch, minutes=60, at=at(70)).pk

    def test_reading_of_a_step_that_was_never_marked_is_kept(self, batch):
        assert read(batch, step="receiving", minutes=-600).pk


class TestRetries:
    def test_same_entry_twice_is_one_row(self, batch):
        key = uuid4()
        first = read(batch, entry_id=key)
        assert read(batch, entry_id=str(key), at=at(30)) == first
        assert models.Reading.objects.count() == 1

    def test_same_entry_with_another_figure_is_refused(self, batch):
        key = uuid4()
        read(batch, entry_id=key)
        for changed in ({"value": "146.0"}, {"place": "B"}, {"minutes": 1}):
            with refused("entry-id-used", "entry_id"):
                read(batch, entry_id=key, **changed)

    def test_same_entry_in_another_batch_is_refused(self, batch):
        key = uuid4()
        read(batch, entry_id=key)
        with refused("entry-id-used"):
            read(factories.BatchFactory(), entry_id=key)

    def test_retry_of_a_correction_or_a_mark_is_recognised(self, batch):
        row, key, edge = read(batch), uuid4(), uuid4()
        told = {"corrects": row, "reason": "misread", "entry_id": key}
        assert read(batch, "146.0", **told) == read(batch, "146.0", **told)
        assert mark(batch, entry_id=edge) == mark(batch, entry_id=edge)

    @pytest.mark.parametrize(
        ("deed", "told", "changed"),
        [
            (
                recording.record_statement,
                {"what": "label", "complies": True, "occurred_at": START},
                {"complies": False},
            ),
            (
                recording.record_date,
                {"what": "use-by", "occurs_at": at(1)},
                {"occurs_at": at(2)},
            ),
            (
                recording.record_remark,
                {"text": "windy", "occurred_at": START},
                {"text": "calm"},
            ),
        ],
    )
    def test_other_entries_are_recognised_too(self, batch, deed, told, changed):
        told = {**told, "entry_id": uuid4(), "by": batch.by, "at": START}
        assert deed(batch, **told) == deed(batch, **told)
        with refused("entry-id-used"):
            deed(batch, **{**told, **changed})

    def test_laboratory_report_is_recognised_with_its_figures(self, batch):
        told = {
            "laboratory": "Tidewrack",
            "sampled_at": START,
            "by": batch.by,
            "at": START,
            "entry_id": uuid4(),
        }
        first = recording.record_lab_result(
            batch, pieces=[{"place": "A", "salt": "3.1"}], **told
        )
        assert first == recording.record_lab_result(
            batch, pieces=[{"place": "A", "salt": "3.1"}], **told
        )
        assert models.Reading.objects.count() == 1
        with refused("entry-id-used"):
            recording.record_lab_result(
                batch, pieces=[{"place": "A", "salt": "3.2"}], **told
            )


class TestCorrections:
    def test_correction_keeps_both_and_only_the_newer_counts(self, batch):
        wrong = read(batch, "154.0")
        right = read(batch, "145.0", corrects=wrong, reason="digits swapped", at=at(5))
        assert list(batch.readings.current()) == [right]
        assert wrong.corrections.get() == right
        assert models.Reading.objects.get(pk=wrong.pk).typed == "154.0"

    def test_correction_needs_a_reason(self, batch):
        wrong = read(batch)
        with refused("blank", "reason"):
            read(batch, "146.0", corrects=wrong, reason="  ")

    def test_corrected_row_cannot_be_corrected_again(self, batch):
        wrong = read(batch, "154.0")
        newer = read(batch, "145.0", corrects=wrong, reason="swapped")
        newest = read(batch, "145.1", corrects=newer, reason="read again")
        with refused("already-corrected", "corrects", "145.1"):
            read(batch, "145.2", corrects=wrong, reason="late")
        with refused("already-corrected"):
            recording.withdraw(wrong, reason="late", by=batch.by, at=at(9))
        assert list(batch.readings.current()) == [newest]

    def test_correction_of_another_batch_or_kind_is_refused(self, batch):
        other = read(factories.BatchFactory())
        with refused("wrong-row", "corrects"):
            read(batch, corrects=other, reason="slip")
        with refused("wrong-row", "corrects"):
            read(batch, corrects=mark(batch), reason="slip")

    def test_taking_back_keeps_the_row_and_counts_no_more(self, batch):
        row = read(batch)
        gone = recording.withdraw(row, reason="wrong fish", by=batch.by, at=at(1))
        assert (gone.corrects, gone.withdrawn, gone.typed) == (row, True, row.typed)
        assert not batch.readings.current().exists()
        assert batch.readings.count() == 2

    def test_taking_back_twice_is_the_same_deed_once(self, batch):
        row = read(batch)
        told = {"reason": "wrong fish", "by": batch.by, "at": at(1)}
        gone = recording.withdraw(row, **told)
        assert recording.withdraw(row, **told) == gone
        with refused("already-withdrawn"):
            recording.withdraw(gone, **told)
        with refused("already-corrected", words="taken back"):
            recording.withdraw(row, **{**told, "reason": "another"})

    def test_taking_back_needs_a_reason_and_a_member(self, batch):
        row = read(batch)
        with refused("blank", "reason"):
            recording.withdraw(row, reason=" ", by=batch.by, at=at(1))
        with refused("not-allowed"):
            recording.withdraw(
                row, reason="mine", by=factories.MemberFactory(), at=at(1)
            )

    def test_what_was_taken_back_can_be_written_again(self, batch):
        row = read(batch)
        gone = recording.withdraw(row, reason="wrong fish", by=batch.by, at=at(1))
        again = read(batch, corrects=gone, reason="was the right fish", at=at(2))
        assert list(batch.readings.current()) == [again]

    def test_every_kind_of_entry_can_be_taken_back(self, batch):
        for factory in (
            factories.LabResultFactory,
            factories.NamedDateFactory,
            factories.ReadingFactory,
            factories.RemarkFactory,
            factories.StatementFactory,
            factories.StepMarkFactory,
            factories.TraceFactory,
        ):
            row = factory(batch=batch)
            gone = recording.withdraw(row, reason="slip", by=batch.by, at=at(90))
            assert (gone.corrects, gone.batch) == (row, batch)
            assert gone.entry_id != row.entry_id

    def test_trace_taken_back_keeps_its_arrays(self, batch):
        row = factories.TraceFactory(batch=batch)
        recording.withdraw(row, reason="wrong file", by=batch.by, at=at(90))
        gone = models.Trace.objects.get(corrects=row)
        assert np.array_equal(gone.arrays()[1], row.arrays()[1])


class TestStatementsDatesRemarks:
    def test_what_is_stated_twice_must_be_corrected(self, batch, by):
        told = {"what": "label", "occurred_at": START, "by": by, "at": START}
        first = recording.record_statement(batch, complies=True, **told)
        with refused("already-recorded", "what"):
            recording.record_statement(batch, complies=False, **told)
        second = recording.record_statement(
            batch, complies=False, corrects=first, reason="looked again", **told
        )
        assert list(batch.statements.current()) == [second]

    def test_date_may_lie_ahead_and_is_named_once(self, batch, by):
        told = {"what": "use-by", "by": by, "at": START}
        first = recording.record_date(batch, occurs_at=at(20000), **told)
        with refused("already-recorded", "what"):
            recording.record_date(batch, occurs_at=at(30000), **told)
        recording.withdraw(first, reason="wrong day", by=by, at=START)
        assert recording.record_date(batch, occurs_at=at(30000), **told).pk

    def test_date_of_a_review_is_not_typed_but_signed(self, batch, by):
        with refused("signed-elsewhere", "what", "on the page Review"):
            recording.record_date(
                batch, what="record-review", occurs_at=START, by=by, at=START
            )

    def test_date_of_a_review_typed_before_may_be_corrected_but_not_ahead(
        self, batch, by
    ):
        old = factories.NamedDateFactory(batch=batch, what="record-review")
        told = {"what": "record-review", "by": by, "at": START, "corrects": old}
        with refused("future", "occurs_at"):
            recording.record_date(batch, occurs_at=at(60), reason="slip", **told)
        assert recording.record_date(batch, occurs_at=START, reason="slip", **told).pk

    def test_date_without_a_zone_is_refused(self, batch, by):
        with refused("no-zone", "occurs_at"):
            recording.record_date(
                batch,
                what="use-by",
                occurs_at=datetime(2026, 5, 16),  # noqa: DTZ001
                by=by,
                at=START,
            )

    def test_remark_belongs_to_a_known_step_and_says_something(self, batch, by):
        told = {"occurred_at": START, "by": by, "at": START}
        assert recording.record_remark(batch, text="windy", **told).step == ""
        with refused("unknown-step"):
            recording.record_remark(batch, text="windy", step="grilling", **told)
        with refused("blank", "text"):
            recording.record_remark(batch, text="  ", **told)
        with refused("future"):
            recording.record_remark(batch, text="x", **{**told, "occurred_at": at(9)})


SALTED = ({"place": "A", "salt": "3.10"},)


class TestLaboratory:
    def report(self, batch, pieces=SALTED, **told):
        told = {
            "laboratory": "Tidewrack Analytical",
            "sampled_at": at(0),
            "reported_at": at(600),
            "read_at": at(700),
            "by": batch.by,
            "at": at(701),
            **told,
        }
        return recording.record_lab_result(batch, pieces=pieces, **told)

    def test_report_becomes_readings_of_its_pieces(self, batch):
        result = self.report(
            batch,
            pieces=[
                {"place": "A", "salt": "2.45", "moisture": "62.0", "ph": None},
                {"place": "B", "water-activity": Decimal("0.961")},
            ],
        )
        assert {
            (row.place, row.quantity, row.typed, row.unit, row.step)
            for row in result.readings.all()
        } == {
            ("A", "salt", "2.45", "percent", "packing"),
            ("A", "moisture", "62.0", "percent", "packing"),
            ("B", "water-activity", "0.961", "1", "packing"),
        }

    @pytest.mark.parametrize(
        ("told", "code", "field"),
        [
            ({"pieces": [{"place": "A", "taste": "1"}]}, "unknown-quantity", "pieces"),
            ({"pieces": [{"place": "A", "salt": "x"}]}, "not-a-number", "pieces"),
            ({"pieces": [{"place": "A", "salt": "99"}]}, "implausible", "pieces"),
            (
                {"pieces": [{"place": "A", "salt": "0", "moisture": "0"}]},
                "implausible",
                "pieces",
            ),
            (
                {"pieces": [{"place": "A", "salt": "30", "moisture": "71"}]},
                "implausible",
                "pieces",
            ),
            ({"pieces": []}, "blank", "pieces"),
            ({"laboratory": ""}, "blank", "laboratory"),
            ({"reported_at": at(-1)}, "wrong-order", "reported_at"),
            ({"read_at": at(599)}, "wrong-order", "read_at"),
            ({"read_at": at(710)}, "future", "read_at"),
            ({"sampled_at": at(1000)}, "future", "sampled_at"),
            ({"step": "lab"}, "unknown-step", "step"),
        ],
    )
    def test_bad_report_is_refused_whole(self, batch, told, code, field):
        with refused(code, field):
            self.report(batch, **told)
        assert not models.LabResult.objects.exists()
        assert not models.Reading.objects.exists()

    def test_samples_sent_have_no_figures_yet(self, batch):
        sent = self.report(batch, pieces=[], reported_at=None, read_at=None)
        assert not sent.readings.exists()

    def test_corrected_report_takes_its_figures_back(self, batch):
        first = self.report(batch)
        second = self.report(
            batch,
            pieces=[{"place": "A", "salt": "3.30"}],
            corrects=first,
            reason="laboratory sent it anew",
        )
        current = batch.readings.current()
        assert [(row.typed, row.lab_result) for row in current] == [("3.30", second)]

    def test_report_taken_back_takes_its_figures_back(self, batch):
        first = self.report(batch)
        recording.withdraw(first, reason="another batch", by=batch.by, at=at(800))
        assert not batch.readings.current().exists()
        assert not batch.labresults.current().exists()


class TestInstruments:
    def add(self, by, **told):
        told = {
            "code": "P1",
            "measures": "temperature",
            "unit": "degF",
            "at": START,
            **told,
        }
        return recording.add_instrument(by.producer, by=by, **told)

    def check(self, tool, by, **told):
        told = {
            "method": "ice-point",
            "shown": "32.4",
            "true": "32",
            "unit": "degF",
            "occurred_at": START,
            "at": START,
            **told,
        }
        return recording.record_check(tool, by=by, **told)

    def test_instrument_without_tolerance_leaves_it_to_the_guidance(self):
        tool = self.add(factories.MemberFactory())
        assert tool.tolerance is None
        assert tool.check_every_days == 30

    @pytest.mark.parametrize(
        ("wrong", "code"),
        [
            ({"code": "add"}, "bad-code"),
            ({"measures": "colour"}, "unknown-kind"),
            ({"unit": "1"}, "wrong-unit"),
            ({"tolerance": "0"}, "not-positive"),
            ({"tolerance": "2.1"}, "tolerance-too-wide"),
            ({"tolerance": "1.2", "unit": "degC"}, "tolerance-too-wide"),
            ({"check_every_days": 0}, "bad-interval"),
        ],
    )
    def test_instrument_refuses(self, wrong, code):
        with refused(code):
            self.add(factories.MemberFactory(), **wrong)

    def test_smaller_tolerance_is_kept(self):
        by = factories.MemberFactory()
        assert self.add(by, tolerance="2").tolerance == 2
        assert self.add(by, code="P2", tolerance="1.1", unit="degC").pk

    def test_code_is_used_once(self):
        by = factories.MemberFactory()
        self.add(by)
        with refused("taken", "code"):
            self.add(by)

    def test_check_keeps_what_was_shown_as_typed(self):
        by = factories.MemberFactory()
        row = self.check(self.add(by), by, shown="32.40", adjusted=True)
        again = models.InstrumentCheck.objects.get(pk=row.pk)
        assert (str(again.shown), str(again.true), again.adjusted) == (
            "32.40",
            "32",
            True,
        )

    @pytest.mark.parametrize(
        ("wrong", "code", "field"),
        [
            ({"shown": "3240"}, "implausible", "shown"),
            ({"true": "x"}, "not-a-number", "true"),
            ({"true": "33"}, "wrong-truth", "true"),
            ({"true": "32", "unit": "degC"}, "wrong-truth", "true"),
            ({"unit": "1"}, "wrong-unit", "unit"),
            ({"method": "guess"}, "unknown-method", "method"),
            ({"occurred_at": at(3)}, "future", "occurred_at"),
        ],
    )
    def test_bad_check_is_refused(self, wrong, code, field):
        by = factories.MemberFactory()
        with refused(code, field):
            self.check(self.add(by), by, **wrong)

    def test_meter_is_checked_with_a_reference_only(self):
        by = factories.MemberFactory()
        meter = self.add(by, measures="ph", unit="1")
        told = {"shown": "4.02", "true": "4.01", "unit": "1"}
        with refused("wrong-method", "method"):
            self.check(meter, by, **told)
        told |= {"reference": "buffer 4.01", "uncertainty": "0.01"}
        assert self.check(meter, by, method="reference", **told).pk

    def test_check_is_corrected_and_taken_back(self):
        by = factories.MemberFactory()
        tool = self.add(by)
        wrong = self.check(tool, by, shown="23.4")
        right = self.check(tool, by, corrects=wrong, reason="swapped")
        with refused("already-corrected"):
            self.check(tool, by, corrects=wrong, reason="again")
        with refused("wrong-row"):
            self.check(
                self.add(by, code="P2"), by, corrects=right, reason="other probe"
            )
        recording.withdraw(right, reason="in the wrong water", by=by, at=START)
        assert not tool.checks.current().exists()

    def test_stranger_checks_nothing(self):
        tool = factories.InstrumentFactory()
        with refused("not-allowed"):
            self.check(tool, factories.MemberFactory())


def a_series(*typed, every_min=10, decimals=1, first=0):
    instants = [at(first + every_min * n) for n in range(len(typed))]
    return SimpleNamespace(
        at_us=np.array([int(i.timestamp()) * 10**6 for i in instants], dtype=np.int64),
        values=np.array([int(Decimal(t).scaleb(decimals)) for t in typed]),
        decimals=decimals,
    )


class TestTraces:
    def store(self, by, data=b"t,core\n1,2\n", name="chamber.csv"):
        return recording.store_logger_file(
            by.producer,
            name=name,
            data=data,
            understanding={"unit": "degF"},
            by=by,
            at=START,
        )

    def trace(self, batch, *typed, file=None, **told):
        told = {
            "step": "heating",
            "quantity": "core-temperature",
            "place": "P1",
            "unit": "degF",
            "series": a_series(*(typed or ("38.6", "145.2"))),
            "logger_file": file or self.store(batch.by),
            "by": batch.by,
            "at": at(600),
            **told,
        }
        return recording.record_trace(batch, **told)

    def test_file_is_kept_as_it_came_and_once(self, by):
        first = self.store(by, b"\xff\xfeT", name="../../C1 july.csv")
        second = self.store(by, b"\xff\xfeT")
        assert first.name == "C1 july.csv"
        assert first.content.name == second.content.name
        with default_storage.open(first.content.name) as kept:
            assert kept.read() == b"\xff\xfeT"
        assert first.content.name == f"{by.producer.slug}/{first.sha256}"

    def test_empty_file_is_refused(self, by):
        with refused("empty", "file"):
            self.store(by, b"")

    def test_trace_keeps_its_series_and_a_summary(self, batch):
        row = self.trace(batch, "38.6", "145.2", "150.0")
        again = models.Trace.objects.get(pk=row.pk)
        assert again.arrays()[1].tolist() == [386, 1452, 1500]
        assert (again.count, str(again.lowest), str(again.highest)) == (
            3,
            "38.6",
            "150.0",
        )
        assert (again.first_at, again.last_at) == (at(0), at(20))

    def test_out_of_order_rows_are_put_in_order(self, batch):
        series = a_series("1.0", "2.0", "3.0")
        order = [2, 0, 1]
        series.at_us, series.values = series.at_us[order], series.values[order]
        row = self.trace(batch, series=series)
        assert row.arrays()[1].tolist() == [10, 20, 30]

    @pytest.mark.parametrize(
        ("told", "code", "field"),
        [
            ({"series": a_series()}, "empty", "file"),
            ({"series": a_series("1450")}, "implausible", "value"),
            ({"series": a_series("40.0", first=700)}, "future", "file"),
            ({"unit": "percent"}, "wrong-unit", "unit"),
            ({"step": "grilling"}, "unknown-step", "step"),
            (
                {
                    "series": SimpleNamespace(
                        at_us=np.arange(3), values=np.arange(2), decimals=0
                    )
                },
                "bad-series",
                "file",
            ),
        ],
    )
    def test_bad_series_is_refused(self, batch, told, code, field):
        with refused(code, field):
            self.trace(batch, **told)
        assert not models.Trace.objects.exists()

    def test_file_and_instrument_of_another_producer_are_not_found(self, batch):
        with refused("not-found", "logger_file"):
            self.trace(batch, file=factories.LoggerFileFactory())
        with refused("not-found", "instrument"):
            self.trace(batch, instrument=factories.InstrumentFactory())

    def test_series_sent_twice_is_stored_once(self, batch):
        self.trace(batch)
        with refused("already-stored", "file"):
            self.trace(batch)
        assert self.trace(batch, place="P2").pk
        assert self.trace(batch, "38.6", "145.3").pk

    def test_trace_is_corrected_by_another(self, batch):
        wrong = self.trace(batch)
        right = self.trace(batch, "38.6", "145.3", corrects=wrong, reason="probe 2")
        same = self.trace(batch, "38.6", "145.3", corrects=right, reason="unit checked")
        assert list(batch.traces.current()) == [same]
