"""Random records: clean ones as honest people write them, and wild ones."""

import math
from datetime import timedelta

from safety.audit.record import Earlier, Review
from safety.judge.evidence import Window
from tests.safety.audit.build import (
    HOLD,
    STEPS,
    a_record,
    ice,
    instrument,
    minutes,
    reading,
    t,
    trace,
    window,
)

COOLER = {"step": "cold-holding", "quantity": "air-temperature"}
BRINE = {"step": "curing", "quantity": "water-temperature", "place": "brine"}
USUAL_MIN, PACE_SD = 270, 0.02
CHECK_SD = 0.1
PIECES = 11


def cooling(rng, at, core=168.0):
    """Return a cooling read every 28 to 33 min, with the digits that physics gives."""
    rows, slow = [], rng.uniform(0.009, 0.013)
    for place in range(PIECES):
        passed = place * 30 + (rng.uniform(-2, 3) if place else 0)
        value = 36 + (core - 36) * math.exp(-slow * max(passed, 0))
        value += rng.gauss(0, 0.3)
        rows.append(reading(at + minutes(round(passed)), f"{value:.1f}"))
    return rows


def stored(rng, start, days):
    """Return a cooler's trace of ten minutes, and readings by hand beside it."""
    level, values = 36.5, []
    for _ in range(days * 144):
        level += 0.3 * (36.5 - level) + rng.gauss(0, 0.6)
        values.append(round(level, 1))
    logged = trace(values, start=start, place="C1", **COOLER)
    rows = []
    for place in range(4 * days):
        sample = place * 36 + rng.randint(5, 30)
        at = t(start) + timedelta(minutes=10 * sample + rng.randint(0, 9))
        shown = values[sample] + rng.gauss(0, 0.3)
        rows.append(reading(at, f"{shown:.1f}", place="C1 by hand", **COOLER))
    return logged, rows


def heated(rng):
    """Return a heating's trace of five minutes; its pace varies by two in a hundred."""
    took = rng.gauss(USUAL_MIN, PACE_SD * USUAL_MIN)
    cores = [40 + 105 * 5 * place / took for place in range(math.ceil(took / 5) + 3)]
    return math.ceil(took / 5) * 5, trace(
        [f"{core:.1f}" for core in cores], every_min=5, instrument="P1"
    )


def checked(rng, name):
    """Return an instrument checked on twelve Mondays, right but for small errors."""
    days = [t("2025-03-17T06:40") + timedelta(days=7 * week) for week in range(12)]
    return instrument(
        *(ice(f"{d:%Y-%m-%d}", f"{32 + rng.gauss(0, CHECK_SD):.1f}") for d in days),
        name=name,
    )


def clean_record(rng):
    """Return a record written honestly, of one batch with five before it."""
    earlier = []
    for number in range(5):
        then = t("2025-04-30T12:00") + timedelta(days=7 * number)
        earlier.append(
            Earlier(
                code=f"A{number}",
                heated_min=heated(rng)[0],
                readings=tuple(cooling(rng, then)),
            )
        )
    logged, by_hand = stored(rng, "2025-06-05T17:40", 3)
    start = t("2025-06-05T11:00") + minutes(rng.randint(0, 44))
    curing, _, _, packing = STEPS
    return a_record(
        windows=(
            curing,
            Window(step="heating", start=t("07:30"), end=start),
            Window(step="cooling", start=start, end=t("17:00")),
            packing,
            window("cold-holding", "2025-06-05T17:40", "2025-06-08T17:40"),
        ),
        limits=(HOLD,),
        traces=(
            heated(rng)[1],
            trace(["60.0", "150.0"], place="P2", start="08:00", every_min=60),
            logged,
        ),
        readings=(reading(curing.start, "41", **BRINE), *cooling(rng, start), *by_hand),
        reviews=(Review(at=t("2025-06-09T10:00"), by="TM"),),
        instruments=(checked(rng, "H1"), checked(rng, "P1")),
        earlier=tuple(earlier),
    )
