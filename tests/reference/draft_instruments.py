"""Random instruments with their checks: sound, old, failed, adjusted, or never checked."""

from decimal import Decimal

DAY_MIN = 24 * 60
# Per kind of instrument: unit, default tolerance, true value of a check, grid of errors.
SORTS = {
    "temperature": (("degF", "2", "32", "0.5"), ("degC", "1", "0", "0.5")),
    "ph": (("1", "0.05", "7", "0.01"),),
    "water-activity": (("1", "0.01", "0.75", "0.005"),),
}
METHODS = ("ice-point", "boiling-point", "reference")


def _number(value):
    return int(value) if value == value.to_integral_value() else float(value)


def random_instrument(draft, name, kind):
    """Draw an instrument; half of them are sound and freshly checked."""
    rng = draft.rng
    unit, tolerance, true, grid = rng.choice(SORTS[kind])
    entry = {"id": name, "measures": kind}
    if rng.random() < 0.6:
        factor = rng.choice((1, 1, 1, Decimal("0.5"), Decimal("0.1")))
        value = _number(Decimal(tolerance) * factor)
        entry["tolerance"] = {"value": value, "unit": unit}
    if rng.random() < 0.6:
        entry["check_every_days"] = rng.choice((30, 30, 1, 7))
    if rng.random() < 0.5:
        minutes = [-DAY_MIN]
        steps = [rng.choice((0, 0, 0, 1, -1, 2))]
    else:
        minutes = [_check_minute(draft) for _ in range(rng.randint(0, 4))]
        steps = [rng.choice((0, 0, 1, -1, 2, -2, 4, -4, 5, 6)) for _ in minutes]
    checks = []
    for minute, step in zip(minutes, steps, strict=True):
        shown = Decimal(true) + Decimal(grid) * step
        check = {
            "at": draft.stamp(minute),
            "method": rng.choice(METHODS),
            "shown": {"value": _number(shown), "unit": unit},
            "true": {"value": _number(Decimal(true)), "unit": unit},
        }
        if unit == "degC" and rng.random() < 0.3:
            check["true"] = {"value": 32, "unit": "degF"}
        if rng.random() < 0.2:
            check["adjusted"] = rng.random() < 0.8
        checks.append(check)
    if checks or rng.random() < 0.5:
        entry["checks"] = checks
    return entry


def _check_minute(draft):
    """Draw when a check was made: days before, among the readings, or after them."""
    rng = draft.rng
    drawn = rng.random()
    if drawn < 0.4:
        days = rng.choice((1, 1, 2, 7, 8, 29, 30, 31, 45))
        return -days * DAY_MIN + rng.choice((0, 0, 60, -60, 600))
    if drawn < 0.8:
        return rng.choice(draft.slots(0, draft.horizon_min))
    return rng.choice(draft.slots(draft.horizon_min, draft.now_min))
