"""For each check of answers, reviews, plans and parts a record it finds, and one inside."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from safety.audit.parts import (
    Answer,
    Brine,
    Change,
    CleaningDay,
    Complaint,
    Hold,
    OtherEntry,
    Packages,
    Release,
    Round,
    Sale,
    Shortfall,
    Sites,
    Training,
)
from safety.audit.record import Review
from tests.safety.audit.build import (
    PLAN,
    SALT,
    STEPS,
    a_record,
    entry,
    minutes,
    reading,
    report,
    t,
    window,
    with_parts,
)

CASES = {}

# ------------------------------------------------------------ brine

# 60 degrees of 100, where 100 is 26.395 % of salt by weight: 15.837 %.
BRINE = Brine(
    water_kg=Decimal(28),
    salt_kg=Decimal("5.26"),
    fish_kg=Decimal(14),
    salometer=Decimal(60),
    brine_f=Decimal(60),
)


def brined(**changed):
    return with_parts(brine=replace(BRINE, **changed))


# 5.26 kg in 28 kg is 15.815 %: 59.9 degrees; own figure: three degrees apart.
CASES["brine-against-salometer"] = (
    brined(salometer=Decimal("63.0")),
    brined(salometer=Decimal("62.9")),
)
CASES["salometer-uncorrected"] = (
    brined(brine_f=Decimal("49.9")),
    brined(brine_f=Decimal("50.0")),
)
CASES["brine-short"] = (
    brined(fish_kg=Decimal("16.64")),  # 33.26 / 16.64 = 1.999
    brined(fish_kg=Decimal("16.63")),  # 33.26 / 16.63 = 2.000
)
CASES["study-missing"] = (
    a_record(plan=replace(PLAN, schedule={"minimum_h": "10", "support": " "})),
    a_record(),
)

# ------------------------------------------------------------ people

READ = a_record(readings=(reading("11:00", place="MB1"),))
SITES = Sites(of_place={"MB1": "stall", "C1": "shed"}, apart_min=Decimal(30))


def elsewhere(at, by="IF"):
    other = OtherEntry(by=by, place="C1", at=t(at), what="36.5 °F")
    return with_parts(READ, sites=SITES, elsewhere=(other,))


CASES["two-places-at-once"] = (elsewhere("11:29"), elsewhere("11:30"))


def reviewed(at, **told):
    return a_record(reviews=(Review(at=t(at), by="TM", **told),))


TRAINED = Training(person="TM", since=t("2025-06-08T10:00"))
CASES["reviewer-untrained"] = (  # 21 CFR 123.10
    with_parts(reviewed("2025-06-08T09:59"), training=(TRAINED,)),
    with_parts(reviewed("2025-06-08T10:00"), training=(TRAINED,)),
)
OPENED = {"opened_at": t("2025-06-08T10:00"), "records": 31}
CASES["review-too-fast"] = (
    reviewed("2025-06-08T10:00:59", **OPENED),
    reviewed("2025-06-08T10:01:00", **OPENED),
)

# ------------------------------------------------------------ deviations

MISSED = (Shortfall(control_point="cooling", limit_id="first-stage"),)
ANSWER = Answer(
    name="CA-04",
    control_point="cooling",
    limit_id="first-stage",
    opened_at=t("15:20"),
    decision="destroyed",
    decided_by="IF",
    qualification="trained 2024",
    cause="fan unplugged",
    prevention="fan lamp",
)
CASES["missed-unanswered"] = (  # 21 CFR 123.7(d)
    with_parts(missed=MISSED, answers=(replace(ANSWER, limit_id="second-stage"),)),
    with_parts(missed=MISSED, answers=(ANSWER,)),
)
CASES["answer-incomplete"] = (  # 21 CFR 123.7(b)-(c)
    with_parts(answers=(replace(ANSWER, decision="", is_closed=True),)),
    with_parts(answers=(ANSWER,)),
)
HOLD = Hold(since=t("2025-06-06T08:00"), until=t("2025-06-07T08:00"))


def sold(at, code="B01"):
    return Sale(at=t(at), buyer="Harbour Table", packages=6, code=code)


CASES["sold-while-held"] = (
    with_parts(sales=(sold("2025-06-06T08:00"),), holds=(HOLD,)),
    with_parts(
        sales=(sold("2025-06-06T07:59"), sold("2025-06-07T08:00")), holds=(HOLD,)
    ),
)
TESTED = a_record(
    reports=(report(reported="2025-06-12T08:00", read="2025-06-12T09:00"),)
)
CASES["sold-before-test"] = (
    with_parts(TESTED, sales=(sold("2025-06-12T08:59"),), is_new_schedule=True),
    with_parts(TESTED, sales=(sold("2025-06-12T09:00"),), is_new_schedule=True),
)
CASES["released-early"] = (
    with_parts(releases=(Release(at=t("18:00"), by="IF", still_open=("CA-04",)),)),
    with_parts(releases=(Release(at=t("18:00"), by="IF"),)),
)

# ------------------------------------------------------------ review and laboratory

# 21 CFR 123.8(a)(3): within one week of the day the records were made.
CASES["review-late"] = (reviewed("2025-06-13T00:00"), reviewed("2025-06-12T23:59"))
CASES["review-overdue"] = (
    a_record(now=t("2025-06-13T00:00")),
    a_record(now=t("2025-06-12T23:59")),
)
FIRST = entry("12:00", number=800001)


def changed_at(at):
    again = replace(
        FIRST, number=800002, corrects=800001, entered_at=t(at), reason="misread"
    )
    return replace(reviewed("2025-06-08T10:00"), entries=(FIRST, again))


CASES["edited-after-review"] = (  # 21 CFR 11.10(e)
    changed_at("2025-06-08T10:01"),
    changed_at("2025-06-08T10:00"),
)
CASES["lab-unread"] = (
    a_record(reports=(report(reported="2025-06-10T16:20", read="2025-06-12T09:15"),)),
    a_record(reports=(report(reported="2025-06-10T16:20", read="2025-06-11T23:59"),)),
)
CASES["lab-awaited"] = (
    a_record(reports=(report("2025-06-06T11:59"),)),
    a_record(reports=(report("2025-06-06T12:00"),)),
)
# FDA Hazards and Controls Guidance, ch. 13: at least every three months.
CASES["test-overdue"] = (
    a_record(limits=(SALT,), last_sampled_at=t("2025-03-05T17:39")),
    a_record(limits=(SALT,), last_sampled_at=t("2025-03-05T17:40")),
)

# ------------------------------------------------------------ the plan

CASES["plan-unsigned"] = (  # 21 CFR 123.6(d)
    a_record(plan=replace(PLAN, signed_at=t("2025-06-04T19:01"))),
    a_record(plan=replace(PLAN, signed_at=t("2025-06-04T19:00"))),
)
# 21 CFR 123.8(a)(1): at least once a year.
CASES["plan-not-reassessed"] = (
    a_record(plan=replace(PLAN, signed_at=t("2024-06-03T08:00"))),
    a_record(plan=replace(PLAN, signed_at=t("2024-06-04T08:00"))),
)
CASES["change-unassessed"] = (
    with_parts(changes=(Change(what="New salt", at=t("2025-06-03T08:00")),)),
    with_parts(
        changes=(
            Change(
                what="New salt",
                at=t("2025-06-03T08:00"),
                reassessed_at=t("2025-06-04T19:00"),
            ),
        )
    ),
)


def complained(**told):
    return with_parts(
        complaints=(Complaint(name="CC-1", received_at=t("2025-06-13T11:59"), **told),)
    )


CASES["complaint-open"] = (complained(), complained(closed_at=t("2025-06-20T11:59")))
CASES["illness-unanswered"] = (
    complained(is_illness=True, acted_at=t("2025-06-14T12:00")),
    complained(is_illness=True, acted_at=t("2025-06-14T11:59")),
)
CASES["use-by-too-far"] = (
    a_record(shelf_life_days=14, use_by_at=t("2025-06-20T00:00")),
    a_record(shelf_life_days=14, use_by_at=t("2025-06-19T23:59")),
)
CASES["step-without-end"] = (
    a_record(windows=(*STEPS, window("drying", "07:00"))),
    a_record(windows=(*STEPS, window("cold-holding", "17:40"))),
)


def corrected(times):
    chain = [entry("12:00", number=700000)]
    for number in range(700001, 700001 + times):
        chain.append(
            replace(chain[-1], number=number, corrects=number - 1, reason="misread")
        )
    return a_record(entries=tuple(chain))


CASES["often-corrected"] = (corrected(3), corrected(2))

# ------------------------------------------------------------ packages and buyers


def packed(**told):
    return with_parts(packages=Packages(filled=48, **told))


# Own figures: one package, or two in a hundred.
CASES["packages-unaccounted"] = (
    packed(went={"market": 40, "laboratory": 6}),
    packed(went={"market": 40, "laboratory": 7}),
)
CASES["labels-against-packages"] = (
    packed(labels_used=50, labels_spoiled=1),
    packed(labels_used=49, labels_spoiled=1),
)
DATED = a_record(use_by_at=t("2025-06-19T00:00"))
CASES["sold-past-use-by"] = (
    with_parts(DATED, sales=(sold("2025-06-20T00:00"),)),
    with_parts(DATED, sales=(sold("2025-06-19T23:59"),)),
)
CASES["sold-lot-unknown"] = (
    with_parts(sales=(sold("2025-06-07T09:00", code="BO1"),)),
    with_parts(sales=(sold("2025-06-07T09:00"),)),
)

# ------------------------------------------------------------ cleaning

ASKED = ("before work", "during work", "after work")


def cleaned(*moments, conditions=8, ppm="100", bad=None):
    """Return a day; 21 CFR 123.11(b) names eight conditions."""
    rounds = tuple(
        Round(
            moment=moment,
            at=t("06:05") + minutes(60 * place),
            conditions=conditions,
            sanitizer_ppm=Decimal(ppm) if ppm else None,
            bad=bad or {},
        )
        for place, moment in enumerate(moments)
    )
    day = CleaningDay(day=date(2025, 6, 5), asked=ASKED, rounds=rounds)
    return with_parts(cleaning=(day,))


CASES["cleaning-missing"] = (cleaned(*ASKED, conditions=7), cleaned(*ASKED))
CASES["sanitizer-without-figure"] = (cleaned(*ASKED, ppm=""), cleaned(*ASKED))
CASES["cleaning-uncorrected"] = (
    cleaned(*ASKED, bad={"hand-wash station": " "}),
    cleaned(*ASKED, bad={"hand-wash station": "soap filled"}),
)
