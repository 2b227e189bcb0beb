"""The workbench: open to anybody, works without script, and refuses with a range."""

from decimal import Decimal

import pytest
from django.urls import reverse

from batches.forms.workbench import UNIT, CalculatorForm
from batches.workbench.measures import in_unit
from batches.workbench.outcome import figure, shown
from batches.workbench.told import CHOICE, calculator, calculators
from batches.workbench.working import WORKED_BY
from safety.science.estimate import Estimate
from safety.science.listeria import rates
from safety.science.references import reference

pytestmark = pytest.mark.django_db

ALL = calculators()
IDS = [told.slug for told in ALL]
FIRST = {told.slug: {one.name: one.start for one in told.inputs} for told in ALL}


def asked(client, slug, **changed):
    return client.get(reverse("calculator", args=[slug]), FIRST[slug] | changed)


def text(response):
    return " ".join(response.content.decode().split())


def test_every_calculator_is_worked_out_by_something():
    assert set(WORKED_BY) == set(IDS)
    assert len(set(IDS)) == len(IDS)


def test_the_list_is_open_to_anybody(client):
    page = client.get(reverse("workbench"))
    assert page.status_code == 200
    for told in ALL:
        assert reverse("calculator", args=[told.slug]) in text(page)


@pytest.mark.parametrize("told", ALL, ids=IDS)
def test_a_stranger_may_open_a_calculator(client, told):
    page = client.get(reverse("calculator", args=[told.slug]))
    assert page.status_code == 200
    assert "Planning estimate, not evidence." not in text(page)
    assert told.decides.split(".")[0] in text(page).replace("&#x27;", "'")


@pytest.mark.parametrize("told", ALL, ids=IDS)
def test_what_it_begins_with_has_an_answer(client, told):
    page = asked(client, told.slug)
    outcome = page.context["outcome"]
    assert page.context["form"].errors == {}
    assert outcome.estimates
    assert outcome.all_sources
    for one in outcome.estimates:
        assert one.low <= one.likely <= one.high, one
    assert "Planning estimate, not evidence." in text(page)
    assert "Who decides" in text(page)
    for source in outcome.all_sources:
        assert len(source) > 20


@pytest.mark.parametrize("told", ALL, ids=IDS)
def test_other_words_in_the_address_ask_nothing(client, told):
    page = client.get(reverse("calculator", args=[told.slug]), {"from": "a-letter"})
    assert not page.context["form"].is_bound


def numbers():
    for told in ALL:
        for one in told.inputs:
            if one.kind != CHOICE and one.kind == "number":
                yield pytest.param(told, one, id=f"{told.slug} {one.name}")


@pytest.mark.parametrize(("told", "one"), list(numbers()))
@pytest.mark.parametrize("far", ["low", "high", "huge"])
def test_a_figure_that_makes_no_sense_is_refused_with_the_range(client, told, one, far):
    typed = {
        "low": str(Decimal(str(one.low)) - 1),
        "high": str(Decimal(str(one.high)) + 1),
        "huge": "1e999999999",
    }[far]
    page = asked(client, told.slug, **{one.name: typed})
    assert page.status_code == 200
    assert page.context["outcome"] is None
    (error,) = page.context["form"].errors[one.name]
    assert "What makes sense is" in error
    assert one.label in error


@pytest.mark.parametrize(("told", "one"), list(numbers()))
@pytest.mark.parametrize("typed", ["nan", "inf", "<b>", "1 000", "٣" * 400])
def test_what_is_no_figure_is_refused(client, told, one, typed):
    page = asked(client, told.slug, **{one.name: typed})
    assert page.status_code == 200
    if page.context["outcome"] is None:
        assert page.context["form"].errors[one.name]
        assert "<b>" not in text(page)
    else:
        assert typed not in {"nan", "inf", "<b>"}


@pytest.mark.parametrize(
    ("slug", "changed", "said"),
    [
        ("slab", {"thickness": "-5"}, "2 to 150 mm"),
        ("slab", {"thickness": "9", "thickness_unit": "in"}, "0.0788 to 5.9 in"),
        ("boiling-point", {"elevation": "9000"}, "-500 to 5,000 m"),
        ("boiling-point", {"elevation": "29000", "elevation_unit": "ft"}, "ft"),
        ("slab", {"target": "2"}, "between 60 °C at the start and 3 °C of the air"),
        ("slab", {"what": "heat"}, "warmer than the start when heating"),
        ("slab", {"target": ""}, "the temperature looked for"),
        ("slab", {"what": "freeze", "air": "0"}, "colder than -2.2 °C"),
        ("slab", {"water": "80", "fat": "30"}, "neither water nor fat"),
        ("lethality", {"temperature": "50"}, "from 55 to 85 °C"),
        ("lethality", {"curve": "0 60\n10"}, "Write two figures to a line"),
        ("lethality", {"curve": "10 60\n0 60"}, "do not run forward"),
        ("lethality", {"curve": "0 60"}, "too few or too many"),
        ("lethality", {"curve": "0 60\n10 warm"}, "“warm” is no number"),
        ("lethality", {"process": "boiled"}, "Select a valid choice"),
        ("tolerance", {"values": "4.1"}, "too few or too many"),
        ("tolerance", {"values": "4.1 x"}, "“x” is no number"),
        ("listeria", {"temperature": "31"}, "0 to 30 °C"),
    ],
)
def test_bad_input_gets_a_sentence(client, slug, changed, said):
    page = asked(client, slug, **changed)
    assert page.status_code == 200
    assert page.context["outcome"] is None
    told = " ".join(str(error) for error in page.context["form"].errors.values())
    assert said in told.replace("&quot;", '"')


def test_degrees_and_inches_are_worked_with_exactly(client):
    metric = asked(client, "slab").context["outcome"].estimates[0]
    other = asked(
        client, "slab",
        thickness="0.98425196850394", thickness_unit="in",
        start="140", start_unit="degF", air="37.4", air_unit="degF",
        target="69.8", target_unit="degF",
    ).context["outcome"].estimates[0]  # fmt: skip
    assert other.likely == pytest.approx(metric.likely, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "expected"),
    # An inch is 25.4 mm and a foot 12 inches by definition.
    [
        ("1", "ft", "m", "0.3048"), ("1", "m", "ft", "3.280839895"),
        ("9", "delta-degF", "delta-degC", "5"), ("32", "degF", "degC", "0"),
        ("5", "h", "h", "5"),
    ],
)  # fmt: skip
def test_units(value, unit, wanted, expected):
    seen = float(in_unit(Decimal(value), unit, wanted))
    assert seen == pytest.approx(float(expected), rel=1e-9)


def test_the_options_say_the_figures_of_the_processes():
    (process,) = [one for one in calculator("lethality").inputs if one.options]
    for option in process.options:
        told = reference(option.value)
        assert f"{told.minutes:g} minutes at {told.reference_c:g} °C" in option.label


def test_the_range_of_listeria_is_that_of_the_formula():
    asks = {one.name: one for one in calculator("listeria").inputs}
    assert (asks["temperature"].low, asks["temperature"].high) == rates().span_c
    salt = asks["water_phase_salt"]
    assert (salt.low, salt.high) == rates().salt_span_pct


def test_a_curve_gets_at_least_and_likely(client):
    page = asked(client, "lethality", temperature="", curve="0 20\n30 63\n40 65\n50 64")
    (one,) = page.context["outcome"].estimates
    assert 0 < one.low < one.likely < one.high
    assert "At the least" in text(page)


def test_a_pressure_reduced_to_sea_level_is_warned_of(client):
    page = asked(client, "boiling-point", elevation="1500", pressure="1013")
    assert "reduced to sea level" in " ".join(page.context["outcome"].warnings)


def test_values_that_are_all_the_same_are_warned_of(client):
    page = asked(client, "tolerance", values="4 4 4 4")
    assert "all the same" in " ".join(page.context["outcome"].warnings)


@pytest.mark.parametrize(
    ("value", "expected"),
    [(0, "0"), (1234.5, "1,230"), (0.012345, "0.0123"), (99.97, "100")],
)
def test_figures_have_three_digits(value, expected):
    assert shown(value) == expected


@pytest.mark.parametrize(
    ("low", "likely", "high", "expected"),
    [
        (99.13, 99.97, 100.79, "100.0"), (54, 72.4, 98, "72"), (0.0046, 3, 40, "3.0"),
        (-3.2, -1.04, 1, "−1.0"), (5, 5, 5, "5.0"),
    ],
)  # fmt: skip
def test_figures_of_an_estimate_say_no_more_than_its_range(low, likely, high, expected):
    one = Estimate(quantity="x", unit="1", low=low, likely=likely, high=high)
    assert figure(one, likely) == expected


def test_there_is_no_such_calculator(client):
    assert client.get(reverse("calculator", args=["luck"])).status_code == 404


def test_units_have_their_own_field():
    form = CalculatorForm(FIRST["slab"], calculator=calculator("slab"))
    assert "thickness" + UNIT in form.fields
    assert "water" + UNIT not in form.fields


def test_time_in_the_warm_adds_printed_times(client):
    # FDA, Appendix 4, Table A-2: 20 h at 40 °F, 3 h at 60 and 1 h at 75; 0.8810, and a
    # minute in each warmer band on the way.
    page = asked(client, "time-in-the-warm", error="0")
    (one,) = page.context["outcome"].estimates
    assert one.likely == pytest.approx(0.8810, abs=0.01)
    assert one.low == one.likely == one.high
    assert "More than half" in text(page)
    over = asked(client, "time-in-the-warm", error="2")
    assert over.context["outcome"].estimates[0].high > 1
    assert "ask a process authority" in text(over)


def test_every_kind_of_bacteria_has_its_bands(client):
    (asks,) = [one for one in calculator("time-in-the-warm").inputs if one.options]
    for option in asks.options:
        page = asked(client, "time-in-the-warm", bacteria=option.value)
        assert page.context["outcome"].tables[0].rows


@pytest.mark.parametrize(
    ("salt", "low", "likely", "high"),
    # Five scoops of packed brown sugar to one of salt, by published weighings (computed).
    [
        ("table-salt", 19.2, 21.1, 23.5), ("dense-flake-kosher", 16.4, 18.6, 20.5),
        ("light-flake-kosher", 10.0, 11.5, 15.5),
    ],
)  # fmt: skip
def test_five_to_one_by_scoops_in_grams_and_a_range(client, salt, low, likely, high):
    page = asked(client, "scoops", salt=salt)
    grams, sugar, share = page.context["outcome"].estimates
    assert (grams.unit, sugar.unit) == ("g", "g")
    assert sugar.likely == pytest.approx(5 * 215)
    assert (share.low, share.likely, share.high) == pytest.approx(
        (low, likely, high), abs=0.06
    )


def test_scoops_of_an_unknown_salt_hold_every_salt(client):
    unknown = asked(client, "scoops").context["outcome"].estimates[0]
    assert unknown.is_thin
    for option in calculator("scoops").inputs[2].options:
        known = asked(client, "scoops", salt=option.value).context["outcome"]
        assert unknown.low <= known.estimates[0].low
        assert unknown.high >= known.estimates[0].high


@pytest.mark.parametrize(
    ("salt", "percent"),
    # A cup of salt and seven cups of water (computed).
    [("table-salt", 14.8), ("dense-flake-kosher", 12.9), ("light-flake-kosher", 7.8)],
)
def test_a_cup_of_salt_in_seven_of_water(client, salt, percent):
    page = asked(client, "scoops", salt=salt, sugar_scoops="0", water_cups="7")
    assert page.context["outcome"].estimates[-1].likely == pytest.approx(
        percent, abs=0.1
    )


def test_spoons_are_shares_of_a_cup(client):
    def grams(measure, count):
        page = asked(client, "scoops", measure=measure, salt_scoops=count)
        return page.context["outcome"].estimates[0].likely

    assert grams("tablespoon", "16") == pytest.approx(grams("cup", "1"))
    assert grams("teaspoon", "48") == pytest.approx(grams("cup", "1"))


@pytest.mark.parametrize(
    ("loss", "percent"),
    # Salt 1.8 and water 70 %, after drying (computed).
    [("0", 2.507), ("10", 2.913), ("20", 3.475), ("25", 3.846), ("35", 4.891)],
)
def test_drying_raises_water_phase_salt(client, loss, percent):
    page = asked(client, "water-phase-salt", loss=loss, loss_error="0")
    after = page.context["outcome"].estimates[1]
    assert after.low == after.likely == after.high
    assert after.likely == pytest.approx(percent, abs=0.001)


def test_salt_that_a_target_asks_for(client):
    # Moisture 71.6 %, yield 80 %, aimed at 3.5 %: 1.806 g in 100 g raw, salt counted in
    # the yield; as a share of the food now, 3.5 / 96.5 of the water left (computed).
    page = asked(client, "water-phase-salt", moisture="71.6", loss_error="0")
    needed = page.context["outcome"].estimates[2]
    assert needed.likely == pytest.approx(3.5 / 96.5 * (71.6 - 20))


def test_more_cannot_be_lost_than_there_is(client):
    page = asked(client, "water-phase-salt", moisture="30", loss="35")
    assert page.context["outcome"] is None
    assert "below the 30 % of water" in text(page)


def brine_of(client, **changed):
    told = {"measure": "salt_pct", "value": "10", "error": "0"} | changed
    return asked(client, "brine", **told)


@pytest.mark.parametrize(
    ("measure", "value", "temperature", "percent"),
    [
        # Brine chart of salt makers (seen 2): 60 degrees are 15.837 %, 40 are 10.558 %.
        ("degrees_shown", "60", "15.5555556", 15.837),
        ("degrees_shown", "40", "15.5555556", 10.558),
        # Oregon State University: 58 degrees in brine of 80 °F are 60.
        ("degrees_shown", "58", "26.6666667", 15.837),
        ("salt_pct", "10", "4", 10.0),
        ("salt_g_per_kg_water", "111.1111", "4", 10.0),
    ],
)
def test_strength_of_a_brine(client, measure, value, temperature, percent):
    page = brine_of(client, measure=measure, value=value, temperature=temperature)
    one = page.context["outcome"].estimates[0]
    assert one.likely == pytest.approx(percent, abs=0.001)


@pytest.mark.parametrize(
    ("value", "aim", "what", "kg"),
    # 20 kg of 12.670 % to 15.837 %, and of 21.116 % to 15.837 % (computed).
    [("12.670", "15.837", "salt", 0.753), ("21.116", "15.837", "water", 6.667)],
)
def test_what_to_add_to_a_brine(client, value, aim, what, kg):
    page = brine_of(client, value=value, aim=aim, weight="20")
    added = page.context["outcome"].estimates[1]
    assert added.quantity == f"{what} to add"
    assert added.likely == pytest.approx(kg, abs=0.002)


def test_sugar_in_a_brine_makes_a_reading_say_nothing_downwards(client):
    page = brine_of(client, measure="degrees_shown", value="60", sugar="yes")
    one = page.context["outcome"].estimates[0]
    assert one.low == 0
    assert one.is_thin
    assert "read high" in text(page)


@pytest.mark.parametrize(
    ("measure", "value"),
    [("salt_pct", "40"), ("degrees_shown", "120"), ("salt_g_per_kg_water", "400")],
)
def test_a_brine_that_cannot_be_is_refused(client, measure, value):
    page = brine_of(client, measure=measure, value=value)
    assert page.context["outcome"] is None
    assert "from 0 to" in text(page)


def test_a_reading_at_the_end_of_the_scale_stays_on_it(client):
    for value, temperature in (("0", "0"), ("100", "30")):
        page = brine_of(
            client, measure="degrees_shown", value=value, temperature=temperature
        )
        one = page.context["outcome"].estimates[0]
        assert 0 <= one.low <= one.high <= 26.4


@pytest.mark.parametrize(
    ("changed", "rest"),
    [
        # 2.5 g on 100 g of fish with 71.6 % of water: 3.37 % (computed).
        ({"salt": "2.5", "moisture": "71.6"}, 3.37),
        # 10 % brine, two to one, fish of 70 % water: 7.41 % (computed).
        (
            {"how": "brine", "strength": "10", "brine": "20", "moisture": "70"}, 7.41,
        ),
    ],
)  # fmt: skip
def test_salt_at_rest(client, changed, rest):
    page = asked(client, "cure", **changed)
    assert page.context["outcome"].estimates[-1].likely == pytest.approx(rest, abs=0.01)
    assert "at the most" in text(page)


def test_nitrite_of_a_brine_at_rest(client):
    # USDA-FSIS handbook, immersion method 2 (seen 5): 1 oz of 6.25 % in 10 lb of pickle and
    # 20 lb of meat: 130.2 ppm.
    page = asked(
        client, "cure", how="brine", strength="10", brine="10", brine_unit="lb",
        fish="20", fish_unit="lb", cure="1", cure_unit="oz",
    )  # fmt: skip
    nitrite = page.context["outcome"].estimates[-1]
    assert nitrite.likely == pytest.approx(130.2, abs=0.2)
    assert nitrite.unit == "ppm"


def test_what_a_brine_needs_must_be_typed_in(client):
    page = asked(client, "cure", how="brine")
    assert page.context["outcome"] is None
    assert "the strength of the brine typed in, not for nothing" in text(page)


@pytest.mark.parametrize(
    ("salt", "activity"),
    # Range quoted for cold-smoked salmon (seen 1): 3 % 0.983, 8 % 0.950.
    [("3", 0.983), ("8", 0.950)],
)
def test_water_activity_is_an_upper_bound(client, salt, activity):
    page = asked(client, "water-activity", water_phase_salt=salt)
    (one,) = page.context["outcome"].estimates
    assert one.likely == one.high == pytest.approx(activity, abs=0.0005)
    assert one.low < one.likely


def test_skin_slows_the_salt_and_a_small_bath_holds_less(client):
    def salt(**changed):
        page = asked(client, "salt-uptake", **changed)
        return page.context["outcome"].estimates

    both, one = salt(ratio=""), salt(ratio="", faces="one")
    assert one[0].likely < both[0].likely
    assert salt(ratio="1")[1].likely < both[1].likely == 15.8
    assert both[0].high <= both[1].high
    assert both[0].is_thin
