"""From the rows about the work to what the checks read: brine, changes, a new schedule."""

from datetime import datetime, tzinfo
from decimal import Decimal
from fractions import Fraction

from batches.lookups.brines import Brined
from batches.lookups.changed import Changed
from batches.models import Batch, BrineMix, WorkChange
from batches.models.logbook import YesNo
from batches.planning import schedule_of
from safety.audit import parts
from safety.units import convert

FIRST = 1  # the number of a plan that no other came before
KG, FAHRENHEIT = "kg", "degF"
GRAMS, TENTHS = 1000, 10  # own figures: as fine as what was converted is said


def changes(
    changed: Changed, now: datetime, zone: tzinfo
) -> tuple[parts.Change, ...] | None:
    """Return the changes that could matter, and when a plan was looked at after each.

    One that cannot matter, with its reason, asks for nothing. A plan that is signed was
    looked at, too.
    """
    if changed.changes is None:
        return None
    looked = sorted(
        at
        for at in (
            *changed.looked_at,
            *(each.signed_at for each in changed.signatures),
        )
        if at <= now
    )
    return tuple(
        parts.Change(
            what=_said(row),
            at=row.occurred_at.astimezone(zone),
            reassessed_at=next(
                (at.astimezone(zone) for at in looked if at >= row.occurred_at), None
            ),
        )
        for row in changed.changes
        if row.recorded_at <= now and row.matters != YesNo.NO
    )


def _said(row: WorkChange) -> str:
    return f"{row.get_subject_display()} changed: {row.what.rstrip('.')}"


def brine(
    brined: Brined, fish_kg: Decimal, now: datetime, zone: tzinfo
) -> parts.Brine | None:
    """Return the brine by weight, all tanks together; None where nobody weighed any.

    A salometer counts only where there was one tank: what it read is of one brine.
    """
    mixes = brined.mixes.as_of(now)
    if not mixes:
        return None
    only = mixes[0] if len(mixes) == 1 else None
    return parts.Brine(
        water_kg=sum((_kg(row.water, row.mass_unit) for row in mixes), Decimal(0)),
        salt_kg=sum((_kg(row.salt, row.mass_unit) for row in mixes), Decimal(0)),
        fish_kg=fish_kg,
        salometer=None if only is None else only.salometer,
        brine_f=None if only is None else _fahrenheit(only),
        is_corrected=only is not None and only.is_corrected,
        lifted=tuple(
            (row.occurred_at.astimezone(zone), row.back_at.astimezone(zone))
            for row in brined.breaks.as_of(now)
        ),
    )


def _kg(mass: Decimal, unit: str) -> Decimal:
    return mass if unit == KG else _rounded(convert(mass, unit, KG), GRAMS)


def _fahrenheit(row: BrineMix) -> Decimal | None:
    if row.temperature is None or row.temperature_unit == FAHRENHEIT:
        return row.temperature
    return _rounded(convert(row.temperature, row.temperature_unit, FAHRENHEIT), TENTHS)


def _rounded(value: Fraction, parts_of_one: int) -> Decimal:
    return Decimal(round(value * parts_of_one)) / parts_of_one


def is_new_schedule(changed: Changed, batch: Batch) -> bool | None:
    """Say whether the batch is the first that was made by the schedule of its plan.

    None where it has no schedule, or where plans came before that nobody kept here.
    """
    own = next((each for each in changed.signatures if each.pk == batch.plan_id), None)
    if own is None or not (schedule := schedule_of(own)):
        return None
    others = [each for each in changed.signatures if each.pk != own.pk]
    same = {each.pk for each in others if schedule_of(each) == schedule} | {own.pk}
    if changed.made_under & same:
        return False
    before = [each for each in others if each.number < own.number]
    if own.number == FIRST or any(each.pk not in same for each in before):
        return True
    return None
