"""Reads: reports of laboratories, which of them wait or lie unread, which tests are due."""

from calendar import monthrange
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from batches.lookups.lists import premises_of, products_of
from batches.lookups.plans import plan_in_force, signed_of
from batches.models import (
    Batch,
    LabRead,
    LabResult,
    PlanSignature,
    Premises,
    Producer,
    Product,
    Reading,
)
from batches.salting import PARTS, SALT, SaltLimit, salt_limit
from safety.limits import figure

READ_WITHIN_DAYS = 2  # own figure: so long after its date a report is read
ANSWER_WITHIN_DAYS = 14  # own figure: so long after sending a report has come
MONTHS = 12  # of a year
SALT_TEST = "us-fda.hazards-guide.ch13.salt-verification"


@dataclass(frozen=True, slots=True)
class Report:
    """A laboratory's report, or that samples are on their way, with its instants."""

    result: LabResult
    read_at: datetime | None
    read_by: str
    zone: tzinfo

    @property
    def is_waiting(self) -> bool:
        """Say whether no report has come."""
        return self.result.reported_at is None

    @property
    def is_unread(self) -> bool:
        """Say whether a report has come that nobody read."""
        return not self.is_waiting and self.read_at is None

    @property
    def sent_on(self) -> date:
        """Return the day on which the samples left, else on which they were taken."""
        return self._day(self.result.sent_at or self.result.sampled_at)

    @property
    def due_on(self) -> date | None:
        """Return the day by which something is to happen: a report, or its reading."""
        if self.is_waiting:
            return self.sent_on + timedelta(days=ANSWER_WITHIN_DAYS)
        if self.is_unread:
            return self.read_by_on
        return None

    @property
    def read_by_on(self) -> date | None:
        """Return the day from which an unread report has lain too long."""
        reported_at = self.result.reported_at
        if reported_at is None:
            return None
        return self._day(reported_at) + timedelta(days=READ_WITHIN_DAYS)

    @property
    def lay_days(self) -> int | None:
        """Return for how many days it lay before somebody read it; None if it lies yet."""
        if self.read_at is None or self.result.reported_at is None:
            return None
        return (self._day(self.read_at) - self._day(self.result.reported_at)).days

    @property
    def lay_too_long(self) -> bool:
        """Say whether it was read too late; it stays so for ever."""
        return self.lay_days is not None and self.lay_days >= READ_WITHIN_DAYS

    def is_overdue(self, today: date) -> bool:
        """Say whether it lies unread, or is awaited, for too long."""
        if self.is_waiting:
            return today > self.sent_on + timedelta(days=ANSWER_WITHIN_DAYS)
        return self.is_unread and today >= (self.read_by_on or today)

    def days(self, today: date) -> int:
        """Return for how many days it is awaited or lies unread."""
        if self.is_waiting:
            return (today - self.sent_on).days
        return (
            today - self._day(self.result.reported_at or self.result.sampled_at)
        ).days

    def _day(self, instant: datetime) -> date:
        return instant.astimezone(self.zone).date()


@dataclass(frozen=True, slots=True)
class SaltTest:
    """A product whose salt is to be tested again, and by when; never tested: no day."""

    product: Product
    limit: SaltLimit
    last_on: date | None
    due_on: date

    def is_due(self, today: date) -> bool:
        """Say whether the test is due."""
        return self.due_on <= today


def reports_of(producer: Producer) -> tuple[Report, ...]:
    """Return every report that counts, those sampled last first, in two queries."""
    found = (
        LabResult.objects
        .current()
        .filter(batch__producer=producer)
        .select_related("batch__product", "batch__premises", "by")
        .order_by("-sampled_at", "-pk")
    )
    return _reports(found, producer)


def reports_open(producer: Producer) -> tuple[Report, ...]:
    """Return the reports that are awaited or lie unread, the oldest first."""
    found = (
        LabResult.objects
        .current()
        .filter(batch__producer=producer, read_at=None, reading=None)
        .select_related("batch__product", "batch__premises", "by")
        .order_by("sampled_at", "pk")
    )
    return _reports(found, producer)


def report_of(producer: Producer, pk: int) -> LabResult:
    """Return a report by its key; one of another producer does not exist."""
    return LabResult.objects.select_related(
        "batch__producer", "batch__premises", "batch__product"
    ).get(pk=pk, batch__producer=producer)


def _reports(found: Iterable[LabResult], producer: Producer) -> tuple[Report, ...]:
    found = list(found)
    if not found:
        return ()
    read = {row.result_id: row for row in LabRead.objects.filter(producer=producer)}
    reports = []
    for result in found:
        later = read.get(result.pk)
        read_at, by = result.read_at, result.by_name
        if read_at is None and later is not None:
            read_at, by = later.recorded_at, later.by_name
        reports.append(Report(result, read_at, by, result.batch.premises.zone))
    return tuple(reports)


# ------------------------------------------------------------ salt


def salt_readings(product: Product) -> tuple[Reading, ...]:
    """Return the figures of a product's salt that count, in one query."""
    return tuple(
        Reading.objects
        .current()
        .filter(
            batch__product=product,
            batch__producer=product.producer_id,
            lab_result__isnull=False,
            quantity__in=(SALT, *PARTS),
        )
        .select_related("batch__plan", "lab_result")
        .defer("batch__plan__content")
        .order_by("occurred_at", "pk")
    )


def salt_limit_of(product: Product, now: datetime) -> SaltLimit | None:
    """Return the least salt asked of a product by the plan in force, else by rule."""
    premises = premises_of(product.producer)[0]
    return salt_limit(product, premises, plan_in_force(product, premises, now))


def salt_tests(
    producer: Producer,
    *,
    now: datetime,
    premises: Premises | None = None,
    signed: Iterable[PlanSignature] | None = None,
    products: Iterable[Product] | None = None,
    started: Mapping[int, list[datetime]] | None = None,
) -> tuple[SaltTest, ...]:
    """Return the products that are made and must be tested for salt, with the day.

    ``now`` is in the time zone of the premises. A product of which nothing was made since
    its last test is not due. Whoever has read the premises, the plans (``signed_of``),
    the products or when their batches were ``started`` hands them over.
    """
    months, zone = int(figure(SALT_TEST).value), now.tzinfo
    premises = premises or premises_of(producer)[0]
    newest = {
        plan.product_id: plan
        for plan in (signed_of(producer) if signed is None else signed)
        if plan.premises_id == premises.pk
    }
    tested = {
        row.batch.product_id: row.sampled_at
        for row in LabResult.objects
        .current()
        .filter(
            batch__producer=producer,
            readings__quantity__in=(SALT, PARTS[0]),
            readings__withdrawn=False,
        )
        .select_related("batch")
        .order_by("sampled_at")
    }
    made = started_by_product(producer) if started is None else started
    found = []
    for product in products_of(producer) if products is None else products:
        limit = salt_limit(product, premises, newest.get(product.pk))
        last = tested.get(product.pk)
        since = [at for at in made.get(product.pk, []) if last is None or at > last]
        if limit is None or not since:
            continue
        last_on = None if last is None else last.astimezone(zone).date()
        first_on = min(since).astimezone(zone).date()
        due_on = first_on if last_on is None else months_after(last_on, months)
        found.append(SaltTest(product, limit, last_on, due_on))
    return tuple(sorted(found, key=lambda each: each.due_on))


def started_by_product(producer: Producer) -> dict[int, list[datetime]]:
    """Return when the batches of each product were started, by its key."""
    started: dict[int, list[datetime]] = {}
    rows = Batch.objects.filter(producer=producer).values_list("product", "started_at")
    for product, at in rows:
        started.setdefault(product, []).append(at)
    return started


def months_after(day: date, months: int) -> date:
    """Return the same day some months later; the last of the month where it has none."""
    year, month = divmod(day.year * MONTHS + day.month - 1 + months, MONTHS)
    last = monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))
