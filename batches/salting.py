"""What a product's salt results say: their mean, their spread, and the limit beside them.

All of it is estimated from a few pieces; a batch is judged by its own samples alone.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from functools import cached_property, lru_cache
from statistics import fmean, variance

from batches.models import Batch, PlanSignature, Premises, Product, Reading
from batches.planning import planned
from safety.facts import Answer
from safety.limits import select
from safety.limits.model import Combination, Limit, Published, ValueLimit
from safety.science.charting import Individuals, individuals
from safety.science.tolerance import FEWEST, LowerBound, lower_bound

SALT = "water-phase-salt"
FLOOR, ALL = "at_least", "all_of"  # kinds of limit
PARTS = ("salt", "moisture")
SURE = ((95, 95), (90, 90))  # own figures, %: confidence and coverage
ENOUGH_PIECES, ENOUGH_BATCHES = 9, 3  # own figures: three of each of three batches
DOTS_ONLY, SETTLED = 8, 15  # own figures: fewer means have no edges; then edges settle
KEPT = 64  # answers kept in mind
MIXED = "composite"  # a place that is called so is a mixture, whatever else was said


@dataclass(frozen=True, slots=True)
class SaltLimit:
    """The least water phase salt asked of a product, and who says so."""

    percent: Decimal
    words: str
    published: Published | None


@dataclass(frozen=True, slots=True)
class Sample:
    """One sample of a batch: one piece, or several mixed."""

    batch: Batch
    place: str
    sampled_at: datetime
    percent: float
    mixed: int

    @property
    def is_mixed(self) -> bool:
        """Say whether several pieces were mixed."""
        return self.mixed > 1 or MIXED in self.place.lower()


@dataclass(frozen=True, slots=True)
class BatchMean:
    """The mean of a batch's samples, as the chart shows it."""

    batch: Batch
    sampled_at: datetime
    percent: float
    count: int
    is_mixed: bool


@dataclass(frozen=True)
class Schedule:
    """All samples made under one version of the plan, with what they say together."""

    name: str
    samples: tuple[Sample, ...]
    limit: SaltLimit | None

    @cached_property
    def pieces(self) -> tuple[Sample, ...]:
        """Return the samples of one piece each; a mixture hides the spread."""
        return tuple(each for each in self.samples if not each.is_mixed)

    @cached_property
    def bounds(self) -> tuple[LowerBound, ...]:
        """Return the tolerance bounds, the strictest first; none for fewer than two."""
        values = [each.percent for each in self.pieces]
        if len(values) < FEWEST:
            return ()
        return tuple(
            lower_bound(values, confidence=confidence / 100, coverage=coverage / 100)
            for confidence, coverage in SURE
        )

    @property
    def cautions(self) -> tuple[str, ...]:
        """Return what to beware of, in sentences."""
        return tuple(_cautions(self))

    @property
    def batches(self) -> int:
        """Return of how many batches the pieces are."""
        return len({each.batch.pk for each in self.pieces})


@dataclass(frozen=True)
class SaltResults:
    """All salt results of one product, in the order in which they were sampled."""

    product: Product
    limit: SaltLimit | None
    samples: tuple[Sample, ...] = ()
    schedules: tuple[Schedule, ...] = ()
    means: tuple[BatchMean, ...] = field(default=())

    @cached_property
    def chart(self) -> Individuals | None:
        """Return the edges within which the means moved so far; None for one or none."""
        values = [each.percent for each in self.means]
        return individuals(values) if len(values) >= FEWEST else None

    @property
    def has_edges(self) -> bool:
        """Say whether there are enough means to draw their edges."""
        return self.chart is not None and len(self.means) >= DOTS_ONLY

    @property
    def is_settled(self) -> bool:
        """Say whether the edges have settled."""
        return len(self.means) >= SETTLED


def salt_results(
    product: Product, limit: SaltLimit | None, readings: Iterable[Reading]
) -> SaltResults:
    """Return what a product's results say; ``readings`` are all its current lab figures."""
    samples = sorted(_samples(readings), key=lambda each: each.sampled_at)
    by_schedule: dict[str, list[Sample]] = {}
    by_batch: dict[int, list[Sample]] = {}
    for each in samples:
        by_schedule.setdefault(schedule_of(each.batch), []).append(each)
        by_batch.setdefault(each.batch.pk, []).append(each)
    return SaltResults(
        product,
        limit,
        tuple(samples),
        tuple(
            Schedule(name, tuple(found), limit) for name, found in by_schedule.items()
        ),
        tuple(_mean(found) for found in by_batch.values()),
    )


def schedule_of(batch: Batch) -> str:
    """Return by which version of the plan a batch was made."""
    if batch.plan is not None:
        return f"plan v{batch.plan.number}"
    return f"plan {batch.plan_label}" if batch.plan_label else "no plan on record"


# ------------------------------------------------------------ the limit


def salt_limit(
    product: Product, premises: Premises, signature: PlanSignature | None
) -> SaltLimit | None:
    """Return the strictest least salt that governs a product; None where none does."""
    if signature is not None:
        return _salt_planned(signature.content)
    facts = product.evidence(premises).facts
    return _salt_published(tuple(sorted(facts.items())))


@lru_cache(maxsize=KEPT)
def _salt_planned(content: str) -> SaltLimit | None:
    return _strictest(
        SaltLimit(leaf.value, each.words or _words(each.published), each.published)
        for each in planned(PlanSignature(content=content))
        for leaf in _floors(each.limit)
    )


@lru_cache(maxsize=KEPT)
def _salt_published(facts: tuple[tuple[str, str], ...]) -> SaltLimit | None:
    return _strictest(
        SaltLimit(leaf.value, each.published.words, each.published)
        for each in select(dict(facts))
        if each.governs is not Answer.NO
        for leaf in _floors(each.published.limit)
    )


def _strictest(found: Iterable[SaltLimit]) -> SaltLimit | None:
    return max(found, key=lambda each: each.percent, default=None)


def _floors(limit: Limit) -> tuple[ValueLimit, ...]:
    """Return the least salts that a limit asks whatever else is done.

    Where salt is one way among others it is not asked; among several salts the least is.
    """
    if isinstance(limit, Combination):
        members = [_floors(member) for member in limit.limits]
        if limit.kind == ALL:
            return tuple(floor for member in members for floor in member)
        if not all(members):
            return ()
        lowest = min((f for m in members for f in m), key=lambda floor: floor.value)
        return (lowest,)
    if not isinstance(limit, ValueLimit) or limit.quantity != SALT:
        return ()
    return (limit,) if limit.kind == FLOOR else ()


def _words(published: Published | None) -> str:
    return "" if published is None else published.words


# ------------------------------------------------------------ samples


def _samples(readings: Iterable[Reading]) -> Iterator[Sample]:
    found: dict[tuple[int, str], dict[str, Reading]] = {}
    for row in readings:
        if row.lab_result_id is not None:
            figures = found.setdefault((row.lab_result_id, row.place), {})
            figures[row.quantity] = row
    for (_, place), figures in found.items():
        percent = _percent(figures)
        if percent is None:
            continue
        row = next(iter(figures.values()))
        result = row.lab_result
        yield Sample(row.batch, place, result.sampled_at, float(percent), result.mixed)


def _percent(figures: dict[str, Reading]) -> Fraction | None:
    """Return the salt in the water of one sample, exactly; None where it is not known."""
    if SALT in figures:
        return Fraction(figures[SALT].value)
    if not figures.keys() >= set(PARTS):
        return None
    salt, moisture = (Fraction(figures[name].value) for name in PARTS)
    return 100 * salt / (salt + moisture) if salt + moisture else None


def _mean(samples: Sequence[Sample]) -> BatchMean:
    first = samples[0]
    return BatchMean(
        first.batch,
        first.sampled_at,
        fmean(each.percent for each in samples),
        len(samples),
        any(each.is_mixed for each in samples),
    )


# ------------------------------------------------------------ cautions


def _cautions(schedule: Schedule) -> Iterator[str]:
    pieces, mixed = len(schedule.pieces), len(schedule.samples) - len(schedule.pieces)
    if mixed:
        yield (
            f"{_count(mixed, 'mixed sample')} left out: a mixture tells the mean of its "
            "pieces and hides how much they differ."
        )
    if pieces < FEWEST:
        yield (
            "No bound can be given: at least two pieces, each tested by itself, say how "
            "much pieces differ."
        )
        return
    if pieces < ENOUGH_PIECES:
        yield (
            f"Only {pieces} pieces: with so few the bound lies far below their mean, and "
            f"one more piece may move it a lot. {ENOUGH_PIECES} pieces, three of each of "
            f"{ENOUGH_BATCHES} batches, say more."
        )
    if schedule.batches < ENOUGH_BATCHES:
        yield (
            f"All of {_count(schedule.batches, 'batch', 'batches')}: how much batches "
            "differ from each other is hardly in it."
        )
    if _differ_more(schedule.pieces):
        yield (
            "The batches differ more than the pieces of one batch do: the bound promises "
            "too much."
        )


def _differ_more(pieces: Sequence[Sample]) -> bool:
    """Say whether the means of batches spread more than their pieces would make them."""
    groups: dict[int, list[float]] = {}
    for each in pieces:
        groups.setdefault(each.batch.pk, []).append(each.percent)
    several = [values for values in groups.values() if len(values) >= FEWEST]
    if len(several) < FEWEST:
        return False
    within = fmean(variance(values) for values in several)
    fewest = min(len(values) for values in several)
    return variance([fmean(values) for values in several]) > within / fewest


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"
