"""A batch judged by a plan: exactly its limits govern, letters show, others compare."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from safety.judge import judge_batch
from safety.judge.evidence import (
    Amount,
    Batch,
    Check,
    Instrument,
    Product,
    Reading,
    Window,
)
from safety.judge.finding import Status
from safety.judge.judging import BY_LETTER, NO_LIMIT
from safety.judge.plan import Planned, published_ids
from safety.limits import get

START = datetime(2026, 5, 2, 10, tzinfo=UTC)
HEATING = "us-fda.hazards-guide.ch13.heating"


def batch(core_f="146"):
    """A batch whose core held one invented temperature for 45 minutes."""
    return Batch(
        judged_at=START + timedelta(days=1),
        product=Product(
            name="Invented",
            facts={
                "process": "hot-smoked",
                "packaging": "reduced-oxygen",
                "storage": "refrigerated",
                "programme": "seafood-processor",
                "food": "coho-salmon",
            },
        ),
        instruments=(
            Instrument(
                id="P1",
                measures="temperature",
                checks=(
                    Check(
                        at=START - timedelta(days=1),
                        method="ice-point",
                        shown=Amount(Decimal(32), "degF"),
                        true=Amount(Decimal(32), "degF"),
                    ),
                ),
            ),
        ),
        windows=(
            Window(step="heating", start=START, end=START + timedelta(minutes=45)),
        ),
        readings=tuple(
            Reading(
                step="heating",
                quantity="core-temperature",
                place="A",
                at=START + timedelta(minutes=15 * i),
                value=Decimal(core_f),
                unit="degF",
                instrument="P1",
            )
            for i in range(4)
        ),
    )


def planned(**changes):
    published = get(HEATING)
    limit = replace(published.limit, **changes)
    return Planned(limit=limit, published=published)


def of_heating(judgement):
    return [f for f in judgement.findings if f.control_point == "heating"]


def test_tightened_limit_governs_and_keeps_its_source():
    plan = [planned(value=Decimal(150), also={})]
    (finding,) = of_heating(judge_batch(batch("146"), plan=plan))
    assert finding.status is Status.MISSED
    assert finding.published.source == get(HEATING).source
    assert finding.limit.value == Decimal(150)
    assert finding.planned is plan[0]
    (finding,) = of_heating(judge_batch(batch("151"), plan=plan))
    assert finding.status is Status.MET


def test_only_the_plan_governs_and_the_rest_is_comparison():
    judgement = judge_batch(batch(), plan=[planned()])
    assert {f.control_point for f in judgement.findings} == {
        "heating",
        "instrument-check",
    }
    assert judgement.outcome is Status.MET
    assert judgement.comparison
    assert all(not finding.governs for finding in judgement.comparison)
    assert HEATING not in {f.limit_id for f in judgement.comparison}


def test_looser_limit_shows_its_letter_at_every_finding():
    plan = [replace(planned(minutes=Decimal(10)), has_letter=True)]
    (finding,) = of_heating(judge_batch(batch(), plan=plan))
    assert BY_LETTER in finding.cautions


def test_limit_of_the_producers_own_has_no_source():
    own = Planned(
        limit=replace(planned().limit, id="own.core", value=Decimal(140)),
        words="As our study says.",
    )
    (finding,) = of_heating(judge_batch(batch(), plan=[own]))
    assert finding.published is None
    assert finding.limit_id == "own.core"
    assert published_ids([own, planned()]) == {HEATING}


def test_empty_plan_is_not_shown():
    judgement = judge_batch(batch(), plan=[])
    assert judgement.outcome is Status.NOT_SHOWN
    assert NO_LIMIT in {finding.limit_id for finding in judgement.findings}
