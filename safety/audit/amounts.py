"""Checks of amounts: fish in and out, packages, labels, buyers, rounds of cleaning."""

from decimal import Decimal
from fractions import Fraction

from safety.audit import words
from safety.audit.found import CannotSay, Found
from safety.audit.load import Check
from safety.audit.parts import CleaningDay, Round
from safety.audit.record import Record
from safety.units import convert

_KG = "kg"


def lot_overdrawn(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find lots of which more was used than had come in."""
    if not record.lots:
        return CannotSay("the batch names no lot")
    if record.parts.reworked_from:
        return CannotSay(f"the fish is that of {record.parts.reworked_from}")
    return [
        check.found(
            f"Lot {use.lot} brought {use.received_kg} kg; earlier batches took "
            f"{use.used_before_kg} kg and this one {use.mass_kg} kg."
        )
        for use in record.lots
        if use.used_before_kg + use.mass_kg > use.received_kg
    ]


def lot_used_before_received(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find lots that came in after the batch was begun with them."""
    dated = [each for each in record.lots if each.received_at is not None]
    if not dated:
        return CannotSay("no lot says when it came in")
    return [
        check.found(
            f"Lot {use.lot} came in {words.instant(use.received_at)}; the batch was "
            f"begun with it {words.instant(record.started_at)}.",
            at=record.started_at,
        )
        for use in dated
        if use.received_at is not None and use.received_at > record.started_at
    ]


def more_out_than_in(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find a smoked weight above the raw weight: pounds in the field of kilograms."""
    raw = sum((use.mass_kg for use in record.lots), Decimal(0))
    out = [
        each
        for each in record.current
        if each.step == "packing" and each.quantity == "mass" and each.value is not None
    ]
    if not out or not raw:
        return CannotSay("weights before and after are not both on record")
    weighed = sum(
        (convert(each.value or 0, each.unit, _KG) for each in out), Fraction(0)
    )
    if weighed <= Fraction(raw) * Fraction(check["times"]):
        return []
    return [
        check.found(
            f"{raw} kg went in and {float(weighed):g} kg came out.",
            entries=words.entries(out),
            at=out[0].observed_at,
        )
    ]


def packages_unaccounted(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find packages that are neither sold nor in stock nor anywhere else."""
    packages = record.parts.packages
    if packages is None or not packages.went:
        return CannotSay("nobody wrote where the packages went")
    gone = sum(packages.went.values())
    allowed = max(check["packages"], check["share"] * packages.filled)
    if abs(packages.filled - gone) <= allowed:
        return []
    where = words.listed([f"{count} {name}" for name, count in packages.went.items()])
    return [
        check.found(
            f"{packages.filled} packages were filled; {where} make {gone}: "
            f"{packages.filled - gone:+d} are not accounted for."
        )
    ]


def labels_against_packages(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find labels that went elsewhere than onto the packages of the batch."""
    packages = record.parts.packages
    if packages is None or packages.labels_used is None:
        return CannotSay("nobody counted the labels")
    astray = packages.labels_used - packages.labels_spoiled - packages.filled
    if astray == 0:
        return []
    what = "missing" if astray > 0 else "too few"
    return [
        check.found(
            f"{packages.labels_used} labels used, {packages.labels_spoiled} spoiled, "
            f"{packages.filled} packages: {abs(astray)} {what}."
        )
    ]


def sold_past_use_by(record: Record, check: Check) -> list[Found] | CannotSay:
    """Find packages that went out after their use-by date."""
    if record.use_by_at is None:
        return CannotSay("no use-by date is on record")
    last = record.use_by_at.date()
    return [
        check.found(
            f"{sale.packages} packages went to {sale.buyer} {words.instant(sale.at)}; "
            f"the use-by date was {last}.",
            at=sale.at,
        )
        for sale in record.parts.sales or ()
        if sale.at.date() > last
    ]


def sold_lot_unknown(record: Record, check: Check) -> list[Found]:
    """Find sales under a code that no batch has."""
    return [
        check.found(
            f"{sale.packages} packages went to {sale.buyer} {words.instant(sale.at)} "
            f"under the code {sale.code!r}; this batch is {record.code!r}.",
            at=sale.at,
        )
        for sale in record.parts.sales or ()
        if sale.code != record.code
    ]


# ------------------------------------------------------------ cleaning


def cleaning_missing(record: Record, check: Check) -> list[Found]:
    """Find days of production with rounds of cleaning left out."""
    found: list[Found] = []
    for day in record.parts.cleaning or ():
        made = {each.moment for each in day.rounds}
        missing = [moment for moment in day.asked if moment not in made]
        thin = [each for each in day.rounds if each.conditions < _asked(each, check)]
        if missing:
            found.append(
                check.found(f"{day.day}: no round of cleaning {words.listed(missing)}.")
            )
        found += [
            check.found(
                f"{day.day}: the round {each.moment} looks at {each.conditions} "
                f"conditions of {_asked(each, check)}.",
                at=each.at,
            )
            for each in thin
        ]
    return found


def _asked(one: Round, check: Check) -> Decimal:
    """Return how many conditions a round must look at; all, where nobody said."""
    every = check["conditions"]
    return every if one.asked is None else min(every, Decimal(one.asked))


def sanitizer_without_figure(record: Record, check: Check) -> list[Found]:
    """Find days of production on which nobody measured the sanitizer."""
    return [
        check.found(f"{day.day}: no strength of the sanitizer is on record.")
        for day in record.parts.cleaning or ()
        if day.rounds and not _is_measured(day)
    ]


def _is_measured(day: CleaningDay) -> bool:
    return any(each.sanitizer_ppm is not None for each in day.rounds)


def cleaning_uncorrected(record: Record, check: Check) -> list[Found]:
    """Find bad conditions of which nobody says how they were put right."""
    return [
        check.found(
            f"{day.day}, {each.moment}: {condition} was not in order, and nothing says "
            "what was done.",
            at=each.at,
        )
        for day in record.parts.cleaning or ()
        for each in day.rounds
        for condition, done in each.bad.items()
        if not done.strip()
    ]
