"""Checks of instruments: what the truth was, what was done, and what is due."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches import checking, drifting, judging, lookups, models, recording
from batches.lookups import InstrumentState
from safety.judge.acceptance import Acceptance
from safety.judge.finding import Status
from tests import factories
from tests.batches.test_recording import refused
from tests.factories import START, at

pytestmark = pytest.mark.django_db

DETAIL_MOST, TOUCHES_MOST = 12, 25


@pytest.fixture
def premises():
    return factories.PremisesFactory(elevation_m=Decimal(0))


@pytest.fixture
def by(premises):
    return factories.MemberFactory(producer=premises.producer)


@pytest.fixture
def probe(by):
    return factories.InstrumentFactory(producer=by.producer, code="P1")


def check(probe, by, **told):
    told = {
        "method": "ice-point",
        "shown": "32.0",
        "unit": "degF",
        "occurred_at": START,
        "at": told.get("occurred_at", START) + timedelta(hours=3),
        **told,
    }
    return recording.record_check(probe, by=by, **told)


# ---------------------------------------------------------------- truths


@pytest.mark.parametrize(
    ("elevation", "told", "low", "high"),
    [
        # The standard atmosphere and the weather about it, or the barometer (computed).
        ("0", {}, "210.43", "213.42"),
        ("0", {"pressure": "1013.25"}, "211.90", "212.00"),
        ("0", {"pressure": "970"}, "209.71", "209.82"),
        ("0", {"pressure": "29.92", "pressure_unit": "inHg"}, "211.90", "212.00"),
        ("1600", {}, "200.58", "204.10"),
        ("1600", {"pressure": "835"}, "202.30", "202.42"),
        (
            "1600",
            {"pressure": "835", "unit": "degC", "shown": "94.7"},
            "94.61",
            "94.68",
        ),
    ],
)
def test_boiling_point_knows_between_what_the_truth_lies(
    premises, probe, by, elevation, told, low, high
):
    models.Premises.objects.update(elevation_m=Decimal(elevation))
    row = check(probe, by, **{"method": "boiling-point", "shown": "203", **told})
    row.refresh_from_db()
    assert abs(row.true_low - Decimal(low)) <= Decimal("0.02")
    assert abs(row.true_high - Decimal(high)) <= Decimal("0.02")
    assert row.true_low <= row.true <= row.true_high
    assert row.elevation_m == Decimal(elevation)


def test_reading_exactly_at_the_tolerance_of_the_whole_range_is_accepted(probe, by):
    told = {"method": "boiling-point", "occurred_at": START}
    row = check(probe, by, shown="212", pressure="1013", **told)
    edges = {
        row.true_low + 2: Acceptance.ACCEPTED,
        row.true_low + 2 + Decimal("0.01"): Acceptance.NOT_SHOWN,
        row.true_high + 2: Acceptance.NOT_SHOWN,
        row.true_high + 2 + Decimal("0.01"): Acceptance.NOT_ACCEPTED,
        row.true_high - 2: Acceptance.ACCEPTED,
        row.true_low - 2 - Decimal("0.01"): Acceptance.NOT_ACCEPTED,
    }
    for shown, expected in edges.items():
        again = check(probe, by, shown=shown, pressure="1013", **told)
        assert checking.weighed(again).acceptance is expected, shown


def test_without_a_barometer_only_the_middle_shows_that_it_is_good(probe, by):
    shown = {"212.0": "accepted", "212.6": "not shown", "216": "not accepted"}
    for figure, expected in shown.items():
        row = check(probe, by, method="boiling-point", shown=figure)
        assert checking.weighed(row).acceptance.value == expected
        narrower = check(
            probe, by, method="boiling-point", shown=figure, pressure="1013.25"
        )
        if expected == "accepted":
            assert checking.weighed(narrower).acceptance is Acceptance.ACCEPTED


@pytest.mark.parametrize(
    ("wrong", "code", "field"),
    [
        ({"true": "212.0", "pressure": "970"}, "wrong-truth", "true"),
        ({"pressure": "900"}, "implausible", "pressure"),
        ({"pressure": "30.5"}, "implausible", "pressure"),
        ({"pressure": "0"}, "not-positive", "pressure"),
        ({"pressure": "nan"}, "not-a-number", "pressure"),
        ({"pressure": "29.9", "pressure_unit": "psi"}, "wrong-unit", "pressure_unit"),
        ({"shown": "211.9999x"}, "not-a-number", "shown"),
        ({"even_if_not_shown": False, "shown": "213"}, "not-shown", None),
        ({"as_left": "212"}, "not-adjusted", "as_left"),
        ({"as_left": "212", "adjusted": True}, "wrong-order", "as_left_at"),
        (
            {"as_left": "212", "adjusted": True, "as_left_at": START},
            "wrong-order",
            "as_left_at",
        ),
    ],
)
def test_bad_boiling_point_is_refused_whole(probe, by, wrong, code, field):
    with refused(code, field):
        check(probe, by, **{"method": "boiling-point", "shown": "212.0", **wrong})
    assert not models.InstrumentCheck.objects.exists()
    assert not models.InstrumentUse.objects.exists()


def test_sea_level_pressure_at_a_high_place_is_refused(probe, by):
    models.Premises.objects.update(elevation_m=Decimal(1600))
    with refused("implausible", "pressure", "weather report"):
        check(probe, by, method="boiling-point", shown="203", pressure="1013")


def test_place_of_another_producer_tells_nothing(probe, by):
    other = factories.PremisesFactory()
    with refused("not-found", "premises"):
        check(probe, by, method="boiling-point", shown="212", premises=other)


def test_reference_counts_against_the_instrument(probe, by):
    told = {
        "method": "reference",
        "true": "145.0",
        "reference": "reference thermometer 7",
        "certificate": "calibrated 2026-01",
        "uncertainty": "0.5",
    }
    row = check(probe, by, shown="146.5", **told)
    assert row.true_span == (Decimal("144.5"), Decimal("145.5"))
    assert checking.weighed(row).acceptance is Acceptance.ACCEPTED
    assert "known within 0.5 °F" in checking.truth_words(row)
    over = check(probe, by, shown="146.6", **told)
    assert checking.weighed(over).acceptance is Acceptance.NOT_SHOWN
    for gone in ("reference", "uncertainty"):
        with refused("blank", gone):
            check(probe, by, shown="145", **{**told, gone: ""})
    with refused("not-positive", "uncertainty"):
        check(probe, by, shown="145", **{**told, "uncertainty": "0"})


def test_own_instrument_as_reference_passes_on_its_own_error(probe, by):
    other = factories.InstrumentFactory(producer=by.producer, code="R1", unit="degC")
    told = {
        "method": "reference",
        "true": "145.0",
        "reference_instrument": other,
        "uncertainty": "0.2",
        "shown": "145.0",
        "occurred_at": START + timedelta(days=1),
    }
    with refused("bad-reference", "reference_instrument", "never checked"):
        check(probe, by, **told)
    check(other, by, shown="0.5", unit="degC")  # 0.9 degF too high
    assert check(probe, by, **told).true_span == (Decimal("143.9"), Decimal("145.2"))
    with refused("bad-reference", "reference_instrument", "more than 30 days"):
        check(probe, by, **{**told, "occurred_at": START + timedelta(days=31)})
    check(other, by, shown="5", unit="degC", occurred_at=START + timedelta(hours=2))
    with refused("bad-reference", "reference_instrument", "did not pass"):
        check(probe, by, **told)
    with refused("bad-reference", "reference_instrument", "itself"):
        check(other, by, **{**told, "unit": "degC"})
    strange = factories.InstrumentFactory()
    with refused("not-found", "reference_instrument"):
        check(probe, by, **{**told, "reference_instrument": strange})


# ---------------------------------------------------------------- judged


def judged(batch, minutes=600):
    batch = lookups.batch_of(batch.producer, batch.code)
    judgement = judging.judge(lookups.records_of(batch), judged_at=at(minutes))
    return judgement.control_points["instrument-check"]


@pytest.fixture
def batch(by, premises):
    return factories.BatchFactory(producer=by.producer, premises=premises, by=by)


def test_range_that_leaves_doubt_never_lets_a_reading_stand(probe, by, batch):
    factories.ReadingFactory(batch=batch, instrument=probe, occurred_at=at(30))
    told = {"occurred_at": at(10), "at": at(11), "method": "boiling-point"}
    wide = check(probe, by, shown="213.4", **told)
    assert judged(batch) is Status.MISSED
    recording.withdraw(wide, reason="no barometer", by=by, at=at(12))
    check(probe, by, shown="213.4", pressure="1013", **told)
    assert judged(batch) is Status.MET


def test_what_was_left_after_an_adjustment_serves_what_comes_next(probe, by, batch):
    factories.ReadingFactory(batch=batch, instrument=probe, occurred_at=at(30))
    told = {"occurred_at": at(10), "at": at(40), "shown": "35.0", "adjusted": True}
    bare = check(probe, by, **told)
    assert judged(batch) is Status.NOT_SHOWN
    recording.withdraw(bare, reason="more is known", by=by, at=at(41))
    check(probe, by, **told, as_left="32.1", as_left_at=at(15))
    assert judged(batch) is Status.MET
    assert judged(batch, minutes=31) is not Status.MET  # not yet written down


def test_what_was_left_badly_is_no_better(probe, by, batch):
    factories.ReadingFactory(batch=batch, instrument=probe, occurred_at=at(30))
    row = check(
        probe, by, occurred_at=at(10), shown="35.0", adjusted=True,
        as_left="34.1", as_left_at=at(15),
    )  # fmt: skip
    assert judged(batch) is Status.MISSED
    assert checking.is_failed(row)


def test_form_sent_twice_is_one_check_and_one_use(probe, by):
    entry_id = uuid4()
    told = {"shown": "36.0", "out_of_use": True, "entry_id": entry_id}
    first = check(probe, by, **told)
    assert check(probe, by, **told, occurred_at=START + timedelta(seconds=1)) == first
    assert models.InstrumentUse.objects.count() == 1
    with refused("entry-id-used"):
        check(probe, by, **{**told, "shown": "37.0"})


# ---------------------------------------------------------------- in and out of use


def state_of(probe) -> InstrumentState:
    (state,) = lookups.instruments_of(probe.producer)
    return state


def test_instrument_out_of_use_is_neither_due_nor_offered(probe, by, batch):
    told = {"by": by, "at": at(10)}
    assert state_of(probe).is_due(START)
    recording.take_out_of_use(probe, reason="cable kinked", occurred_at=at(9), **told)
    state = state_of(probe)
    assert state.is_out_of_use
    assert not state.is_due(START)
    assert not state.is_due_soon(START)
    client = Client()
    client.force_login(by.user)
    url = reverse("record", args=[batch.code, "heating", "core-temperature"])
    assert "P1" not in client.get(url).content.decode()
    with refused("no-change"):
        recording.take_out_of_use(probe, reason="again", occurred_at=at(9), **told)
    with refused("blank", "reason"):
        recording.put_back_in_use(probe, reason=" ", occurred_at=at(9), **told)
    recording.put_back_in_use(
        probe, reason="new cable", occurred_at=at(20), by=by, at=at(20)
    )
    assert not state_of(probe).is_out_of_use
    assert "P1" in client.get(url).content.decode()


def test_due_soon_today_overdue_and_adjusted_without_a_look(probe, by):
    models.Instrument.objects.update(check_every_days=7)
    check(probe, by)
    days = {4: (False, False), 5: (False, True), 6: (False, True), 7: (True, False)}
    for day, expected in days.items():
        now, state = START + timedelta(days=day), state_of(probe)
        assert (state.is_due(now), state.is_due_soon(now)) == expected, day
    check(probe, by, occurred_at=START + timedelta(days=5), adjusted=True)
    assert state_of(probe).is_due(START + timedelta(days=7))
    later = START + timedelta(days=6)
    check(
        probe, by, occurred_at=later, adjusted=True,
        as_left="32", as_left_at=later + timedelta(minutes=5),
    )  # fmt: skip
    assert not state_of(probe).is_due(START + timedelta(days=12))


# ---------------------------------------------------------------- set right


def change(probe, by, **told):
    told = {"name": "Probe", "unit": "degF", "tolerance": None, **told}
    told = {"check_every_days": 30, "at": START + timedelta(days=2), **told}
    return recording.change_instrument(probe, by=by, **told)


def test_instrument_is_set_right_and_the_trail_keeps_what_it_was(probe, by):
    changed = change(
        probe, by, name=" Core probe ", tolerance="1.0", check_every_days=7
    )
    changed.refresh_from_db()
    assert (changed.name, changed.tolerance, changed.check_every_days) == (
        "Core probe",
        Decimal("1.0"),
        7,
    )
    event = models.TrailEvent.objects.order_by("pk").last()
    assert event.act == "instrument.changed"
    assert '"name":"Probe"' in event.before


@pytest.mark.parametrize(
    ("wrong", "code", "field"),
    [
        ({"tolerance": "2.1"}, "tolerance-too-wide", "tolerance"),
        ({"tolerance": "2", "unit": "degC"}, "tolerance-too-wide", "tolerance"),
        ({"unit": "1"}, "wrong-unit", "unit"),
        ({"check_every_days": 0}, "bad-interval", "check_every_days"),
    ],
)
def test_instrument_is_not_set_wrong(probe, by, wrong, code, field):
    with refused(code, field):
        change(probe, by, **wrong)


def test_no_change_makes_the_past_look_better(probe, by):
    change(probe, by, tolerance="1", check_every_days=7)
    check(probe, by, shown="33.5")
    with refused("would-pass", "tolerance"):
        change(probe, by, tolerance="1.5", check_every_days=7)
    with refused("would-pass", "tolerance"):
        change(probe, by, tolerance=None, check_every_days=7)
    change(probe, by, tolerance="1.4", check_every_days=7)
    late = START + timedelta(days=8, hours=1)
    with refused("would-pass", "check_every_days"):
        change(probe, by, tolerance="1.4", check_every_days=8, at=late)
    change(probe, by, tolerance="1.4", check_every_days=6, at=late)


# ---------------------------------------------------------------- drift


def drift(probe):
    return drifting.drift_of(probe, lookups.checks_of(probe).current())


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (["33.0"], ()),
        (["33.1"], ("over-half",)),
        (["30.9"], ("over-half",)),
        (["32.1", "32.2", "32.3", "32.4"], ()),
        (["32.1", "32.2", "32.3", "32.4", "32.5"], ("rising",)),
        (["32.1", "31.8", "32.3", "31.6", "32.5"], ("rising",)),
        (["32.1", "32.2", "32.3", "32.4", "32.5", "32.5"], ()),
    ],
)
def test_drift_warns_over_half_and_after_four_rises(probe, by, shown, expected):
    for day, figure in enumerate(shown):
        check(probe, by, shown=figure, occurred_at=START + timedelta(days=day))
    assert drift(probe).warnings == expected


def test_drift_begins_anew_after_an_adjustment(probe, by):
    for day, figure in enumerate(["32.1", "32.2", "32.3", "32.4"]):
        check(probe, by, shown=figure, occurred_at=START + timedelta(days=day))
    later = START + timedelta(days=4)
    check(
        probe, by, shown="32.5", occurred_at=later, adjusted=True,
        as_left="32", as_left_at=later + timedelta(minutes=1),
    )  # fmt: skip
    found = drift(probe)
    assert found.warnings == ()
    assert [point.is_as_left for point in found.points] == [False] * 5 + [True]


def test_drift_is_in_the_instruments_own_unit(by):
    probe = factories.InstrumentFactory(producer=by.producer, unit="degC")
    check(probe, by, shown="33.8", unit="degF")
    (point,) = drift(probe).points
    assert point.error == 1
    assert float(drift(probe).tolerance) == pytest.approx(10 / 9)


# ---------------------------------------------------------------- pages


@pytest.fixture
def client(by):
    client = Client()
    client.force_login(by.user)
    return client


def count_of(client, url):
    client.get(url)
    with CaptureQueriesContext(connection) as queries:
        assert client.get(url).status_code == 200
    return len(queries)


def test_page_of_an_instrument_asks_little_whatever_its_checks(client, probe, by):
    url = reverse("instrument", args=["P1"])
    check(probe, by)
    few = count_of(client, url)
    for day in range(12):
        check(probe, by, occurred_at=START + timedelta(days=day))
    assert count_of(client, url) == few <= DETAIL_MOST


def test_page_of_a_failed_check_asks_by_the_batch_and_no_more(
    client, probe, by, premises
):
    check(probe, by, occurred_at=START - timedelta(days=1))
    for number in range(3):
        made = factories.BatchFactory(
            producer=by.producer, premises=premises, by=by, code=f"B{number}"
        )
        for minute in range(5):
            factories.ReadingFactory(
                batch=made, instrument=probe, occurred_at=at(minute)
            )
    row = check(probe, by, shown="36", occurred_at=at(500))
    url = reverse("check-touches", args=["P1", row.pk])
    three = count_of(client, url)
    made = factories.BatchFactory(
        producer=by.producer, premises=premises, by=by, code="B3"
    )
    factories.ReadingFactory(batch=made, instrument=probe, occurred_at=at(1))
    four = count_of(client, url)
    assert four - three <= TOUCHES_MOST / 2
    text = client.get(url).content.decode()
    assert text.count("Set B") == 4


def test_nothing_of_another_producer_is_found(client, probe, by):
    row = factories.InstrumentCheckFactory()
    for name in ("instrument", "instrument-use", "instrument-change", "drift"):
        assert client.get(reverse(name, args=[row.instrument.code])).status_code == 404
    for code in (row.instrument.code, "P1"):
        url = reverse("check-touches", args=[code, row.pk])
        assert client.get(url).status_code == 404


def test_drift_is_drawn_with_what_is_allowed(client, probe, by):
    check(probe, by, shown="33.5")
    check(probe, by, method="boiling-point", shown="212", pressure="1013")
    drawn = client.get(reverse("drift", args=["P1"])).content.decode()
    assert "allowed +2" in drawn
    assert "allowed −2" in drawn
    assert "ice" in drawn
    assert "0 not accepted" in drawn


def test_instrument_is_set_right_on_its_page(client, probe, by):
    url = reverse("instrument-change", args=["P1"])
    sent = {
        "name": "Long probe",
        "unit": "degF",
        "tolerance": "",
        "check_every_days": 9,
    }
    assert client.post(url, sent).status_code == 302
    probe.refresh_from_db()
    assert (probe.name, probe.check_every_days) == ("Long probe", 9)
    assert "wide" not in client.get(url).content.decode()
    sent["tolerance"] = "3"
    assert "is more than" in client.post(url, sent).content.decode()
