"""For each check of rows one record that it finds, and one just inside."""

from dataclasses import replace
from decimal import Decimal

from safety.audit.record import Earlier, LotUse
from tests.safety.audit.build import (
    HOLD,
    STEPS,
    STORE,
    a_record,
    entry,
    ice,
    instrument,
    minutes,
    reading,
    readings,
    t,
    trace,
    window,
)

# id: (a record in which the check finds something, one just inside)
CASES = {}

# ------------------------------------------------------------ times

# 21 CFR 123.9(a)(4): entered at the time observed. 15 min, 4 h and 24 h are own figures.
CASES["late-entry"] = (
    a_record(entries=(entry("10:00", late_min=15.1),)),
    a_record(entries=(entry("10:00", late_min=15), entry("10:00", late_min=1441))),
)
CASES["late-by-a-day"] = (
    a_record(entries=(entry("10:00", late_min=1441),)),
    a_record(entries=(entry("10:00", late_min=1440),)),
)
LATE = entry("10:00", late_min=241, step="curing")
CASES["late-unexplained"] = (
    a_record(entries=(LATE, entry("13:00", kind="remark", step="heating"))),
    a_record(
        entries=(
            LATE,
            entry("14:02", kind="remark", what="phone flat", step="curing"),
        )
    ),
)
# Own figures: four entries an hour apart within 120 s.
BULK = [("10:00", 161), ("10:30", 131.4), ("10:50", 111.8), ("11:00", 102)]
CASES["typed-in-bulk"] = (
    a_record(readings=tuple(reading(at, late_min=late) for at, late in BULK)),
    a_record(
        readings=tuple(
            reading(at, late_min=late + shift)
            for (at, late), shift in zip(BULK, (0, 0, 0, 1.1), strict=True)
        )
    ),
)
# 21 CFR 123.9(a)(2): date and time of the activity.
CASES["no-instant"] = (
    a_record(readings=(reading(None),)),
    a_record(readings=(reading(None, is_laboratory=True),)),
)
CASES["in-the-future"] = (
    a_record(entries=(entry("10:00", late_min=-5.1),)),
    a_record(entries=(entry("10:00", late_min=-5),)),
)
CASES["outside-step"] = (
    a_record(readings=(reading("17:06"),)),
    a_record(readings=(reading("17:05"), reading("11:55"))),
)
TWO_STEPS = [reading("12:00", step=s) for s in ("heating", "cooling") * 3]
CASES["one-instant-for-all"] = (
    a_record(readings=tuple(TWO_STEPS)),
    a_record(readings=(*TWO_STEPS[:5], reading("12:01", step="heating"))),
)


def at_gaps(*gaps_min):
    """Return a record read at 06:00 and then after these gaps."""
    at, rows = t("06:00"), [reading("06:00")]
    for gap in gaps_min:
        at += minutes(gap)
        rows.append(reading(at))
    return a_record(readings=tuple(rows))


# By chance 4 of 60 minutes are quarters of the hour; own figure: more than 80 % of 20.
CASES["round-minutes"] = (
    at_gaps(7, 8, 15, 30, 45, 7, 8, 15, 30, 45, 15, 30, 45, 15, 30, 45, 7, 8, 15, 30),
    at_gaps(7, 8, 15, 30, 45, 7, 8, 15, 30, 45, 15, 30, 45, 7, 8, 45, 7, 8, 15),
)

# ------------------------------------------------------------ values

# Practice: P = (0.1 / (2 sd sqrt(pi))) ** (k - 1); the cooler of the demo: sd 1.22.
LOGGED = ("35.1", "37.6", "36.4", "34.9", "38.1", "36.8", "35.3", "37.9", "36.2")
STORED = (*STEPS, window("cold-holding", "2025-06-05T17:40", "2025-06-19T12:00"))
AIR = {"step": "cold-holding", "quantity": "air-temperature", "place": "C1 by hand"}
LOGGER = trace(
    LOGGED,
    start="2025-06-16T06:30",
    every_min=360,
    step="cold-holding",
    quantity="air-temperature",
    place="C1",
)


def cooler(*values):
    return a_record(
        windows=STORED,
        traces=(LOGGER,),
        readings=readings(values, start="2025-06-16T06:30", every_min=360, **AIR),
    )


CASES["same-value-run"] = (
    cooler("36.0", "36.0", "36.0", "36.0", "36.4", "36.1"),
    cooler("36.0", "36.0", "36.0", "36.4", "36.0", "36.1"),
)
HOT = trace(["141.0", "141.0", "141.0"], place="P3", start="12:00")
SLIP = {"place": "P3", "step": "heating"}
# 62.9 °C is 145.2 °F: far from 141 °F only in the wrong unit; 120 °F is 21 °F away and
# would be 248 °F; 121 °F is 20 °F away.
CASES["unit-slip"] = (
    a_record(traces=(HOT,), readings=(reading("12:05", "62.9", **SLIP),)),
    a_record(
        traces=(HOT,),
        readings=(
            reading("12:05", "62.9", unit="degC", **SLIP),
            reading("12:06", "121.0", **SLIP),
            reading("12:07", "120.0", **SLIP),
        ),
    ),
)
CASES["not-a-number"] = (
    a_record(readings=(reading("12:00", "ok"),)),
    a_record(
        readings=(
            reading("12:00", "ok", number=900001),
            reading("12:00", "38", corrects=900001),
        )
    ),
)


def typed(digits, step=3):
    """Return readings a third of a degree and more apart, with these last digits."""
    return a_record(
        readings=readings(
            [f"{40 + place * step % 90}.{digit}" for place, digit in enumerate(digits)],
            every_min=7,
        )
    )


# Chi-square with 9 degrees of freedom: 27.88 at 0.001 (practice: 27.9). Counts of
# 60 readings: 15 of one digit and 5 of each other: (9 + 9·(1/...))... see test_chances.
CASES["last-digit"] = (
    typed([0] * 18 + [d for d in range(10) for _ in range(4)] + [1, 2]),
    typed(
        [0] * 12 + [d for d in range(10) for _ in range(4)] + [1, 2, 3, 4, 5, 6, 7, 8]
    ),
)
CASES["fives-and-zeros"] = (
    typed([0, 5] * 16 + [1, 2, 3, 4, 6, 7, 8, 9, 1, 2, 3, 4, 6, 7, 8, 9, 1, 2, 3, 4]),
    typed([0, 5] * 15 + [1, 2, 3, 4, 6, 7, 8, 9, 1, 2, 3, 4, 6, 7, 8, 9, 1, 2, 3, 4]),
)
DAY = ("36.1", "37.0", "36.4", "35.9")


def two_days(first, second):
    return a_record(
        windows=STORED,
        readings=readings(first, start="2025-06-10T06:00", **AIR)
        + readings(second, start="2025-06-11T06:00", **AIR),
    )


CASES["copied-day"] = (
    two_days(DAY, DAY),
    two_days(DAY, ("36.1", "37.0", "36.4", "36.0")),
)
SHEET = (
    "167.7",
    "127.5",
    "99.8",
    "80.4",
    "66.8",
    "57.0",
    "50.7",
    "46.0",
    "42.8",
    "40.5",
)


def after_another(*values):
    then = readings(SHEET, start="2025-05-29T12:00")
    return a_record(
        readings=readings(values),
        earlier=(Earlier(code="A09", readings=then),),
    )


CASES["copied-sheet"] = (
    after_another(*SHEET[:-1], "40.6"),
    after_another(*SHEET[:-2], "42.9", "40.6"),
)

# ------------------------------------------------------------ loggers


def gapped(minutes_out):
    made = trace(range(100, 120))
    at = made.at_us.copy()
    at[10:] += int((minutes_out - 10) * 60e6)
    return a_record(traces=(replace(made, at_us=at),))


CASES["logger-gap"] = (gapped(30.1), gapped(30))
CASES["flat-logger"] = (
    a_record(traces=(trace(["36.0"] * 37, step="cold-holding"),)),
    a_record(traces=(trace(["36.0"] * 36, step="cold-holding"),)),
)
# Own figure: half of the readings more than 3 °F away.
CASES["typed-off-logger"] = (
    cooler("38.3", "40.8", "39.6", "38.1"),
    cooler("38.1", "40.6", "39.4", "37.9"),
)
# Own figure: less than a quarter of the logger's 3.2 °F.
CASES["typed-flatter"] = (
    cooler("36.0", "36.7", "36.3", "36.0", "36.5"),
    cooler("36.0", "36.8", "36.3", "36.0", "36.5"),
)

# ------------------------------------------------------------ the work

THICK = {"quantity": "thickness", "unit": "mm", "step": "curing"}
CASES["over-size"] = (
    a_record(readings=(reading("2025-06-04T19:10", "32.1", **THICK),)),
    a_record(readings=(reading("2025-06-04T19:10", "32.0", **THICK),)),
)


def heated(samples):
    """Return a batch whose core shows 145 °F at that sample, every five minutes."""
    cores = [40.0] * samples + [145.0]
    known = tuple(
        Earlier(code=f"A{place}", heated_min=usual)
        for place, usual in enumerate((260.0, 270.0, 275.0))
    )
    return a_record(traces=(trace(cores, every_min=5),), limits=(HOLD,), earlier=known)


# Own figure: 1.06 times the median of 270 min is 286.2 min.
CASES["slow-heating"] = (heated(58), heated(57))


def soaked(end):
    return a_record(windows=(window("curing", "2025-06-04T19:10", end), *STEPS[1:]))


CASES["soak-outside"] = (soaked("05:09"), soaked("05:10"))
CASES["brining-unwatched"] = (
    a_record(readings=(reading("2025-06-04T19:10", "30", **THICK),)),
    a_record(
        readings=(
            reading(
                "2025-06-04T19:10", "41", step="curing", quantity="water-temperature"
            ),
        )
    ),
)
CASES["late-first-cooling"] = (
    a_record(readings=(reading("12:16"),)),
    a_record(readings=(reading("12:15"),)),
)


def stored(*ats):
    return a_record(
        windows=(*STEPS, window("cold-holding", "17:40", "22:40")),
        limits=(STORE,),
        readings=tuple(reading(at, **AIR) for at in ats),
    )


# Own figure: one and a half intervals of 60 min.
CASES["monitoring-gap"] = (
    stored("19:00", "20:31", "22:00"),
    stored("19:00", "20:30", "22:00"),
)


def days_stored(*ats):
    held = window("cold-holding", "17:40", "2025-06-08T09:00")
    return a_record(
        windows=(*STEPS, held), readings=tuple(reading(at, **AIR) for at in ats)
    )


CASES["cold-store-day"] = (
    days_stored("2025-06-06T23:59"),
    days_stored("2025-06-06T00:00", "2025-06-07T23:59"),
)
AIR_ONLY = trace(["150.0", "151.0"], quantity="air-temperature")
CASES["wrong-quantity"] = (
    a_record(limits=(HOLD,), traces=(AIR_ONLY,)),
    a_record(limits=(HOLD,), traces=(AIR_ONLY, trace(["140.0", "141.0"]))),
)
PROBED = a_record(traces=(trace(["140.0"]), trace(["140.0"], place="P2")))
CASES["probes-missing"] = (a_record(traces=(trace(["140.0"]),)), PROBED)

# ------------------------------------------------------------ people

CASES["no-initials"] = (  # 21 CFR 123.9(a)(3)
    a_record(readings=(reading("12:00", by=""), reading("12:30"))),
    a_record(readings=(reading("12:00"),)),
)
CASES["no-firm"] = (a_record(address=" "), a_record())  # 21 CFR 123.9(a)(1)
CASES["no-product-or-lot"] = (a_record(lots=()), a_record())  # 21 CFR 123.9(a)(4)

# ------------------------------------------------------------ instruments

CASES["instrument-unnamed"] = (
    a_record(readings=(reading("12:00", instrument=""),)),
    a_record(readings=(reading("2025-06-04T19:10", "30", instrument="", **THICK),)),
)


def gauged(*checks, at="2025-06-05T12:00"):
    return a_record(readings=(reading(at),), instruments=(instrument(*checks),))


# Michigan R 285.569.3(2)(a) wants checks on record; the seven days are the plan's.
CASES["instrument-out-of-date"] = (
    gauged(ice("2025-05-28")),
    gauged(ice("2025-05-29")),
)
CASES["instrument-failed-later"] = (
    gauged(ice("2025-06-02"), ice("2025-06-09", "34.1")),
    gauged(ice("2025-06-02"), ice("2025-06-09", "34.0")),
)
CASES["drift-past-half"] = (
    gauged(ice("2025-06-02", "33.1")),
    gauged(ice("2025-06-02", "33.0")),
)
GROWING = ("2025-05-05", "2025-05-12", "2025-05-19", "2025-05-26", "2025-06-02")


def drifting(*shown):
    return gauged(*(ice(day, s) for day, s in zip(GROWING, shown, strict=True)))


CASES["drift-in-a-row"] = (
    drifting("32.0", "32.1", "32.2", "32.3", "32.4"),
    drifting("32.1", "32.1", "32.2", "32.3", "32.4"),
)
# Moving average with weight 0.3 from 0: constant errors e give e·(1 - 0.7 ** n).
CASES["drift-on-average"] = (
    drifting("33.3", "33.3", "33.3", "33.3", "33.3"),  # 1.3 · 0.832 = 1.08
    drifting("33.2", "33.2", "33.2", "33.2", "33.2"),  # 1.2 · 0.832 = 0.998
)
EIGHT = [f"2025-0{m}-{d:02}" for m, d in ((4, 7), (4, 14), (4, 21), (4, 28), (5, 5))]
EIGHT += ["2025-05-12", "2025-05-19", "2025-06-02"]
CASES["too-perfect"] = (
    gauged(*(ice(day) for day in EIGHT)),
    gauged(ice(EIGHT[0], "32.1"), *(ice(day) for day in EIGHT[1:])),
)

# ------------------------------------------------------------ amounts of rows


def from_lot(before, at=None):
    return a_record(
        lots=(
            LotUse(
                lot="RL-01",
                mass_kg=Decimal(14),
                received_kg=Decimal(45),
                used_before_kg=Decimal(before),
                received_at=t(at or "2025-06-03T16:20"),
            ),
        )
    )


CASES["lot-overdrawn"] = (from_lot("31.1"), from_lot("31.0"))
CASES["lot-used-before-received"] = (
    from_lot("0", "2025-06-04T19:01"),
    from_lot("0", "2025-06-04T19:00"),
)
MASS = {"quantity": "mass", "unit": "kg", "step": "packing", "instrument": ""}
CASES["more-out-than-in"] = (
    a_record(readings=(reading("17:10", "14.1", **MASS),)),
    a_record(readings=(reading("17:10", "14.0", **MASS),)),
)
