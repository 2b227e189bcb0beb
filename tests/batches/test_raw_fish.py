"""Raw fish: where lots came from, what tracing asks, and every kilogram accounted for."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from batches import lookups, recording
from batches.demo.load import load_demo
from batches.elements import EVENTS, events_of
from batches.forms.instants import MINUTE, wall
from batches.models import Lot, LotHandling, LotOrigin, TrailEvent
from tests import factories
from tests.batches.test_recording import refused
from tests.batches.test_views import signed_in
from tests.factories import START, ZONE, at

pytestmark = pytest.mark.django_db

NOW = at(200)
Kind = LotHandling.Kind
Way = LotOrigin.Way
# What each way asks, by our table of 21 CFR 1.1330(a), 1.1335, 1.1345(a) and (b), and 1.337.
COUNTS = {
    "receiving": 9,
    "receiving-exempt": 8,
    "first-land-based": 8,
    "initial-packing": 11,
    "one-step-back": 8,
}


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def lot():
    made = factories.LotFactory(code="RL-05", food="lake-whitefish")
    factories.PremisesFactory(producer=made.producer, address="14 Ropewalk Lane")
    return made


def place(lot):
    return lot.producer.premises.get()


def told(lot, minutes=1):
    return {"occurred_at": at(minutes), "by": lot.by, "at": at(minutes + 1)}


def came(lot, way=Way.LANDED, **content):
    return recording.record_origin(place(lot), lot=lot, way=way, **told(lot) | content)


def done(lot, kind, mass_kg=None, minutes=1, **content):
    return recording.handle_lot(
        place(lot), lot=lot, kind=kind, mass_kg=mass_kg, **told(lot, minutes) | content
    )


def used(lot, mass_kg):
    batch = factories.BatchFactory(
        producer=lot.producer, premises=place(lot), by=lot.by
    )
    return factories.BatchLotFactory(batch=batch, lot=lot, mass_kg=Decimal(mass_kg))


def sent(**more):
    shown = wall(NOW, ZONE).strftime(MINUTE)
    return {
        "entry_id": str(uuid4()),
        "occurred_at": shown,
        "occurred_at_prefilled": shown,
        "note": "",
    } | more


class TestElements:
    def test_each_way_has_its_sets(self):
        assert {event.slug: len(event.elements) for event in EVENTS} == COUNTS
        for way in Way.values:
            assert [event.slug for event in events_of(way)][1:] == ["one-step-back"]

    def test_each_names_something_that_a_lot_can_hold(self, lot):
        came(lot)
        values = dict(lookups.raw_fish(lot).values)
        for event in EVENTS:
            for element in event.elements:
                assert set(element.holds) <= set(values), element.words

    def test_half_of_it_is_not_known(self, lot):
        came(lot, first_caught_on=date(2026, 4, 20))
        assert "Harvest date range of the trip" in lookups.raw_fish(lot).missing


class TestOrigin:
    def test_landed_fish_gets_our_code_and_asks_for_the_rest(self, lot):
        row = came(lot, market_name="Whitefish", document="landing ticket")
        assert (row.code, row.is_own_code) == ("RL-05", True)
        ((event, missing), (_, behind)) = lookups.raw_fish(lot).asked
        assert event.slug == "first-land-based"
        # Of 21 CFR 1.1335 (a) to (g): code, name, quantity and receiver are known.
        assert [each.words for each in missing] == [
            "Harvest date range of the trip",
            "Harvest locations of the trip",
            "Date landed",
            "Reference document, kind and number",
        ]
        assert "Telephone of the supplier" in [each.words for each in behind]

    def test_nothing_is_missing_once_all_is_said(self, lot):
        day = lot.received_at.date()
        came(
            lot,
            latin_name="Coregonus spp.",
            first_caught_on=day - timedelta(days=1),
            last_caught_on=day,
            landed_on=day,
            caught_where="area 2",
            document="landing ticket",
            document_number="0707-3",
            source_place="Net Sheds",
            source_phone="555 0163",
            description="fresh on ice, open trays",
            carrier="the fishers themselves, Net Sheds, 555 0163",
        )
        assert lookups.raw_fish(lot).missing == ()

    def test_code_that_somebody_had_to_give_is_never_ours(self, lot):
        row = came(lot, Way.SHIPPED)
        assert (row.code, row.is_own_code) == ("", False)
        assert "Traceability lot code" in lookups.raw_fish(lot).missing

    def test_code_on_the_papers_stands(self, lot):
        row = came(lot, Way.EXEMPT, code=" WB-2214 ")
        assert (row.code, row.is_own_code) == ("WB-2214", False)

    def test_place_without_an_address_is_missing(self):
        lot = factories.LotFactory()
        factories.PremisesFactory(producer=lot.producer, address="")
        came(lot, Way.SHIPPED)
        assert "Location where it was received" in lookups.raw_fish(lot).missing

    @pytest.mark.parametrize(
        ("days", "field"),
        [
            ({"first_caught_on": 0, "last_caught_on": -1}, "last_caught_on"),
            ({"last_caught_on": 0, "landed_on": -1}, "landed_on"),
            ({"landed_on": 1}, "landed_on"),
            ({"first_caught_on": 1}, "first_caught_on"),
        ],
    )
    def test_days_in_the_wrong_order_are_refused(self, lot, days, field):
        received = lot.received_at.astimezone(ZONE).date()
        with refused("wrong-order", field):
            came(lot, **{k: received + timedelta(days=v) for k, v in days.items()})

    def test_second_one_is_refused_and_a_correction_is_not(self, lot):
        first = came(lot)
        with refused("already-said", "lot"):
            came(lot)
        came(lot, Way.FARMED, corrects=first, reason="it came from the ponds")
        fish = lookups.raw_fish(lot)
        assert fish.origin.way == Way.FARMED
        assert len(fish.origins.all) == 2

    def test_form_sent_twice_is_one_row(self, lot):
        key = {"entry_id": uuid4()}
        assert came(lot, **key).pk == came(lot, **key).pk

    def test_unknown_way_and_lot_of_another_are_refused(self, lot):
        with refused("unknown-way", "way"):
            came(lot, "by-balloon")
        other = factories.LotFactory()
        with refused("not-found", "lot"):
            recording.record_origin(place(lot), lot=other, way=Way.LANDED, **told(lot))

    def test_it_is_in_the_trail(self, lot):
        came(lot)
        last = TrailEvent.objects.order_by("-number").first()
        assert last.act == "lot-origin.recorded"


class TestWeight:
    def test_adds_up(self, lot):
        used(lot, "14.0")
        done(lot, Kind.TRIMMED, "0.4")
        done(lot, Kind.DISCARDED, "1.1")
        fish = lookups.raw_fish(lot)
        assert (fish.used_kg, fish.lost_kg) == (Decimal("14.0"), Decimal("1.5"))
        assert fish.left_kg == Decimal("29.5")  # of 45.0
        assert fish.unaccounted_kg is None

    def test_more_than_is_left_is_refused(self, lot):
        used(lot, "44.0")
        with refused("more-than-left", "mass_kg"):
            done(lot, Kind.TRIMMED, "1.01")
        done(lot, Kind.TRIMMED, "1.00")
        assert lookups.raw_fish(lot).left_kg == 0

    def test_correction_counts_what_it_replaces_once(self, lot):
        row = done(lot, Kind.TRIMMED, "44")
        done(lot, Kind.TRIMMED, "45", corrects=row, reason="weighed again")
        assert lookups.raw_fish(lot).left_kg == 0
        with refused("more-than-left", "mass_kg"):
            done(lot, Kind.DISCARDED, "0.1")

    def test_more_than_came_in_is_refused(self, lot):
        for kind in (Kind.WEIGHED, Kind.FROZEN):
            with refused("more-than-came", "mass_kg"):
                done(lot, kind, "45.1")

    @pytest.mark.parametrize("kind", [Kind.TRIMMED, Kind.DISCARDED, Kind.WEIGHED])
    def test_weight_is_asked_where_it_counts(self, lot, kind):
        with refused("no-weight", "mass_kg"):
            done(lot, kind)

    def test_nothing_is_no_trimming_but_may_be_left(self, lot):
        with refused("not-positive", "mass_kg"):
            done(lot, Kind.TRIMMED, "0")
        done(lot, Kind.WEIGHED, "0")
        assert lookups.raw_fish(lot).unaccounted_kg == Decimal("45.0")

    def test_weighing_counts_only_what_went_before_it(self, lot):
        done(lot, Kind.TRIMMED, "5", minutes=1)
        done(lot, Kind.WEIGHED, "39.5", minutes=5)
        done(lot, Kind.TRIMMED, "9", minutes=9)
        assert lookups.raw_fish(lot).unaccounted_kg == Decimal("0.5")

    def test_lot_that_was_overdrawn_says_so_and_has_nothing_left(self, lot):
        used(lot, "50")
        fish = lookups.raw_fish(lot)
        assert (fish.left_kg, fish.too_much_kg) == (0, Decimal("5.0"))
        assert not fish.is_usable

    def test_before_it_came_in_is_refused(self, lot):
        early = lot.received_at - timedelta(minutes=1)
        with refused("before-receipt", "occurred_at"):
            done(lot, Kind.FROZEN, occurred_at=early)

    def test_thawing_ends_only_where_it_began(self, lot):
        with refused("not-begun", "kind"):
            done(lot, Kind.THAW_ENDED)
        done(lot, Kind.FROZEN, place="F1", temperature="-3", unit="degF")
        done(lot, Kind.THAW_BEGUN, place="C1", minutes=5)
        assert lookups.raw_fish(lot).is_thawing
        with refused("not-begun", "kind"):
            done(lot, Kind.THAW_ENDED, minutes=4)
        done(lot, Kind.THAW_ENDED, minutes=60)
        fish = lookups.raw_fish(lot)
        assert not fish.is_thawing
        assert fish.cold.kind == Kind.THAW_ENDED

    def test_implausible_temperature_is_refused(self, lot):
        with refused("implausible", "temperature"):
            done(lot, Kind.FROZEN, temperature="900", unit="degF")

    def test_rejected_and_held_lots_are_not_usable(self, lot):
        assert lookups.raw_fish(lot).is_usable
        recording.hold(lot, reason="warm", by=lot.by, at=at(3))
        assert lookups.raw_fish(lot).is_held
        assert not lookups.raw_fish(lot).is_usable

    def test_entered_days_later_is_late(self, lot):
        late = START + timedelta(days=3)
        assert done(lot, Kind.TRIMMED, "1", at=late).is_late

    # 25 histories of a lot: each deed is done or refused, and no fish is made by it.
    @settings(
        max_examples=25,
        deadline=None,
        suppress_health_check=[HealthCheck.function_scoped_fixture],
    )
    @given(
        st.lists(
            st.tuples(
                st.sampled_from(["trimmed", "discarded", "used", "weighed"]),
                st.decimals("0.1", "30", places=1),
            ),
            max_size=8,
        )
    )
    def test_balance_never_makes_fish(self, lot, deeds):
        code = f"P-{uuid4().hex}"
        own = factories.LotFactory(producer=lot.producer, by=lot.by, code=code)
        gone = Decimal(0)
        for kind, mass in deeds:
            if kind == "used":
                if mass <= own.mass_kg - gone:
                    used(own, mass)
                    gone += mass
            elif kind == "weighed":
                done(own, kind, mass)
            elif gone + mass > own.mass_kg:
                with refused("more-than-left", "mass_kg"):
                    done(own, kind, mass)
            else:
                done(own, kind, mass)
                gone += mass
            fish = lookups.raw_fish(own)
            assert fish.used_kg + fish.lost_kg == gone <= own.mass_kg
            assert fish.left_kg == own.mass_kg - gone
            assert fish.too_much_kg == 0


class TestReading:
    def test_questions_do_not_grow_with_lots(self, lot):
        def asked():
            lots = list(Lot.objects.filter(producer=lot.producer))
            with CaptureQueriesContext(
                connection,
            ) as found:
                lookups.raw_fish_of(lots)
            return len(found)

        came(lot)
        done(lot, Kind.TRIMMED, "1")
        few = asked()
        for code in ("A", "B", "C", "D", "E"):
            more = factories.LotFactory(producer=lot.producer, by=lot.by, code=code)
            came(more)
            used(more, "3")
        assert asked() == few == 6


class TestPages:
    def test_stock_names_what_is_left_and_what_is_not_known(self, lot):
        used(lot, "40")
        says = signed_in(lot.by).get(reverse("lot-stock")).content.decode()
        assert "5.0 kg" in says
        assert "Nobody wrote down where it came from." in says

    def test_page_of_a_lot_offers_the_ways_then_shows_what_is_missing(self, lot):
        client, url = signed_in(lot.by), reverse("lot-origin", args=[lot.code])
        says = client.get(url).content.decode()
        assert (
            f"{reverse('log-add', args=['origins'])}?lot=RL-05&amp;way=landed" in says
        )
        came(lot)
        says = client.get(url).content.decode()
        assert "Date landed" in says
        assert "21 CFR Part 1, Subpart S" in says

    def test_form_asks_only_what_the_way_asks(self, lot):
        url = reverse("log-add", args=["origins"]) + "?lot=RL-05&way=farmed"
        says = signed_in(lot.by).get(url).content.decode()
        assert 'name="pond"' in says
        assert 'name="vessel"' not in says
        assert 'value="Coregonus spp."' in says

    def test_form_records_and_refuses_beside_the_field(self, lot):
        client = signed_in(lot.by)
        url = reverse("log-add", args=["origins"]) + "?lot=RL-05&way=landed"
        day = str(NOW.date() + timedelta(days=9))
        answer = client.post(url, sent(lot="RL-05", way="landed", landed_on=day))
        assert "Check both days." in answer.content.decode()
        answer = client.post(url, sent(lot="RL-05", way="landed", vessel="Grey Petrel"))
        assert answer.status_code == 302
        assert LotOrigin.objects.get().vessel == "Grey Petrel"

    def test_handling_is_recorded_from_the_form(self, lot):
        client, url = signed_in(lot.by), reverse("log-add", args=["raw-fish"])
        told = sent(lot="RL-05", kind="trimmed", mass_kg="46", unit="degF")
        assert "only 45.0 kg are left" in client.post(url, told).content.decode()
        answer = client.post(url, told | {"mass_kg": "0.4"})
        assert answer.status_code == 302
        assert lookups.raw_fish(lot).left_kg == Decimal("44.6")

    def test_correction_of_an_origin_keeps_both(self, lot):
        row, client = came(lot, vessel="Grey Petrel"), signed_in(lot.by)
        url = reverse("log-correct", args=["origins", row.pk])
        assert "Grey Petrel" in client.get(url).content.decode()
        told = sent(lot="RL-05", way="landed", vessel="Second Wind", reason="misread")
        assert client.post(url, told).status_code == 302
        fish = lookups.raw_fish(lot)
        assert [each.vessel for each in fish.origins.all] == [
            "Grey Petrel",
            "Second Wind",
        ]


def test_season_accounts_for_every_kilogram_and_knows_every_source():
    name = load_demo().name
    lots = list(Lot.objects.filter(producer__name=name))
    fish = {each.lot.code: each for each in lookups.raw_fish_of(lots)}
    assert len(fish) == 9
    assert {code: each.left_kg for code, each in fish.items()} == dict.fromkeys(fish, 0)
    assert not any(each.too_much_kg for each in fish.values())
    lost = {code: each.lost_kg for code, each in fish.items() if each.lost_kg}
    # The season's own figures: what was trimmed and left over of each lot.
    assert lost == {
        "RL-01": Decimal("2.6"),
        "RL-02": Decimal("0.5"),
        "RL-03": Decimal("0.4"),
        "RL-04": Decimal("2.5"),
        "RL-05": Decimal("0.4"),
        "RL-06": Decimal("0.4"),
        "RL-08": Decimal("2.5"),
        "RL-09": Decimal("0.4"),
    }
    assert fish["RL-07"].decided_kg == Decimal("12.4")
    assert fish["RL-07"].is_rejected
    assert {code: each.missing for code, each in fish.items() if each.missing} == {}
    codes = {each.origin.code for each in fish.values()}
    assert codes >= {"WB-2214", "WB-2290", "WB-2377", "RL-02", "RL-03"}
