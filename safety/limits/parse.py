"""One limit from a mapping (a batch file's object or a data file's table), or a refusal.

The keys are those of the open batch format; nothing is guessed. Every refusal names
the place as a JSON pointer, what was found there and what is allowed.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from safety.controls import CONTROL_POINTS, STEPS
from safety.errors import Refused
from safety.limits.fields import (
    choice,
    join,
    listed,
    mapping,
    number,
    refuse_unknown,
    required,
    show,
    text,
)
from safety.limits.model import (
    Band,
    Combination,
    CoolLimit,
    DwellLimit,
    ExposureLimit,
    Limit,
    StatedLimit,
    StayLimit,
    ValueLimit,
    WithinLimit,
)
from safety.quantities import QUANTITIES

RESERVED_ID = "instrument-check"
DEEPEST = 20  # combinations inside combinations

_COMMON = ("id", "control_point", "kind", "step")
_VALUE = ("quantity", "value", "unit", "strict", "printed_also")
_KEYS: dict[str, tuple[str, ...]] = {
    "at_least": _VALUE,
    "at_most": _VALUE,
    "dwell_at_least": (*_VALUE, "minutes", "check_every_min"),
    "dwell_at_most": (*_VALUE, "minutes", "check_every_min"),
    "stay_at_most": (*_VALUE, "excursion_min", "check_every_min"),
    "stay_at_least": (*_VALUE, "excursion_min", "check_every_min"),
    "cool_through": (
        "quantity", "from", "to", "unit", "minutes", "steps", "strict", "printed_also",
    ),
    "exposure_at_most": ("quantity", "unit", "bands", "steps", "check_every_min"),
    "within": ("what", "of", "days"),
    "stated": ("what",),
    "any_of": ("limits",),
    "all_of": ("limits",),
}  # fmt: skip
KINDS: tuple[str, ...] = tuple(_KEYS)
_NEED_A_STEP = frozenset({
    "at_least",
    "at_most",
    "dwell_at_least",
    "dwell_at_most",
    "stay_at_most",
    "stay_at_least",
})

_DEFAULTED = frozenset({
    "step",
    "strict",
    "printed_also",
    "excursion_min",
})  # and `steps` of cool_through


def parse_limit(entry: object, *, pointer: str = "", top: bool = True) -> Limit:
    """Return the limit that ``entry`` describes.

    Parameters
    ----------
    entry : object
        What the reader of the file returned; must be an object.
    pointer : str
        Where ``entry`` stands, for refusals.
    top : bool
        Whether it is a limit by itself; a member of a combination has no control
        point of its own.

    Returns
    -------
    Limit
        Of the class that its kind asks for.

    Raises
    ------
    Refused
        If anything is missing, unknown, of the wrong type or out of place.
    """
    return _parse(mapping(entry, pointer), pointer, set(), top=top)


def parse_limits(entries: object, *, pointer: str) -> tuple[Limit, ...]:
    """Return all limits of a list, whose ids must differ.

    Parameters
    ----------
    entries : object
        What the reader of the file returned; must be a list.
    pointer : str
        Where it stands, for refusals.

    Returns
    -------
    tuple of Limit
        In the order of the list.

    Raises
    ------
    Refused
        If one of them is refused, or an id stands twice.
    """
    if not isinstance(entries, list):
        raise Refused(pointer, show(entries), "a list of limits")
    seen: set[str] = set()
    return tuple(
        _parse(mapping(entry, join(pointer, i)), join(pointer, i), seen, top=True)
        for i, entry in enumerate(entries)
    )


def _parse(
    entry: Mapping[str, Any],
    pointer: str,
    seen: set[str],
    *,
    top: bool,
    depth: int = 0,
    inherited_step: str | None = None,
) -> Limit:
    if depth > DEEPEST:
        raise Refused(
            pointer, "a combination too deep", f"at most {DEEPEST} inside one another"
        )
    kind = choice(entry, "kind", pointer, KINDS)
    common = _COMMON if top else tuple(k for k in _COMMON if k != "control_point")
    refuse_unknown(entry, (*common, *_KEYS[kind]), pointer)
    for key in _KEYS[kind]:
        if key not in _DEFAULTED and not (key == "steps" and kind == "cool_through"):
            required(entry, key, pointer, f"{key}, which {kind} needs")
    identity = text(entry, "id", pointer)
    if identity in seen or identity == RESERVED_ID:
        raise Refused(join(pointer, "id"), show(identity), "an id not used before")
    seen.add(identity)
    control_point = (
        choice(entry, "control_point", pointer, tuple(CONTROL_POINTS)) if top else None
    )
    step = choice(entry, "step", pointer, STEPS) if "step" in entry else None
    here = step or (control_point if control_point in STEPS else inherited_step)
    if kind in _NEED_A_STEP and here is None:
        raise Refused(
            join(pointer, "step"),
            "nothing",
            f"one of {', '.join(STEPS)}, since the control point is no step",
        )
    fields: dict[str, Any] = {
        "id": identity,
        "kind": kind,
        "control_point": control_point,
        "step": step,
    }
    if kind in ("any_of", "all_of"):
        members = listed(entry, "limits", pointer)
        place = join(pointer, "limits")
        return Combination(
            **fields,
            limits=tuple(
                _parse(
                    mapping(member, join(place, i)),
                    join(place, i),
                    seen,
                    top=False,
                    depth=depth + 1,
                    inherited_step=here,
                )
                for i, member in enumerate(members)
            ),
        )
    return _BUILDERS[kind](entry, pointer, fields)


def _value_fields(entry: Mapping[str, Any], pointer: str) -> dict[str, Any]:
    unit = _unit(entry, pointer)
    also: dict[str, Decimal] = {}
    if "printed_also" in entry:
        place = join(pointer, "printed_also")
        printed = _printed(entry, place, ("value", "unit"), unit)
        also[printed["unit"]] = number(printed, "value", place)
    return {
        "quantity": entry["quantity"],
        "value": number(entry, "value", pointer),
        "unit": unit,
        "strict": _strict(entry, pointer),
        "also": also,
    }


def _unit(entry: Mapping[str, Any], pointer: str) -> str:
    quantity = choice(entry, "quantity", pointer, tuple(QUANTITIES))
    return choice(entry, "unit", pointer, QUANTITIES[quantity].units)


def _printed(
    entry: Mapping[str, Any], place: str, keys: tuple[str, ...], unit: str
) -> Mapping[str, Any]:
    printed = mapping(entry["printed_also"], place)
    refuse_unknown(printed, keys, place)
    others = tuple(u for u in QUANTITIES[entry["quantity"]].units if u != unit)
    choice(printed, "unit", place, others or ("no other unit",))
    return printed


def _strict(entry: Mapping[str, Any], pointer: str) -> bool:
    strict = entry.get("strict", False)
    if not isinstance(strict, bool):
        raise Refused(join(pointer, "strict"), show(strict), "true or false")
    return strict


def _steps(entry: Mapping[str, Any], pointer: str) -> tuple[str, ...]:
    names = listed(entry, "steps", pointer)
    place = join(pointer, "steps")
    for i, name in enumerate(names):
        if name not in STEPS or name in names[:i]:
            raise Refused(
                join(place, i), show(name), f"each once, of {', '.join(STEPS)}"
            )
    return tuple(names)


def _value_limit(
    entry: Mapping[str, Any], pointer: str, fields: dict[str, Any]
) -> Limit:
    return ValueLimit(**fields, **_value_fields(entry, pointer))


def _dwell_limit(
    entry: Mapping[str, Any], pointer: str, fields: dict[str, Any]
) -> Limit:
    return DwellLimit(
        **fields,
        **_value_fields(entry, pointer),
        minutes=_duration(entry, "minutes", pointer),
        check_every_min=_duration(entry, "check_every_min", pointer),
    )


def _stay_limit(
    entry: Mapping[str, Any], pointer: str, fields: dict[str, Any]
) -> Limit:
    if "excursion_min" in entry:
        fields["excursion_min"] = _duration(entry, "excursion_min", pointer)
    return StayLimit(
        **fields,
        **_value_fields(entry, pointer),
        check_every_min=_duration(entry, "check_every_min", pointer),
    )


def _duration(entry: Mapping[str, Any], key: str, pointer: str) -> Decimal:
    return number(entry, key, pointer, least=Decimal(0))


def _cool_limit(
    entry: Mapping[str, Any], pointer: str, fields: dict[str, Any]
) -> Limit:
    unit = _unit(entry, pointer)
    start, end = number(entry, "from", pointer), number(entry, "to", pointer)
    if start <= end:
        raise Refused(join(pointer, "to"), show(end), f"less than {start}")
    also: dict[str, tuple[Decimal, Decimal]] = {}
    if "printed_also" in entry:
        place = join(pointer, "printed_also")
        printed = _printed(entry, place, ("from", "to", "unit"), unit)
        pair = number(printed, "from", place), number(printed, "to", place)
        if pair[0] <= pair[1]:
            raise Refused(join(place, "to"), show(pair[1]), f"less than {pair[0]}")
        also[printed["unit"]] = pair
    if "steps" in entry:
        fields["steps"] = _steps(entry, pointer)
    return CoolLimit(
        **fields,
        quantity=entry["quantity"],
        from_value=start,
        to_value=end,
        unit=unit,
        minutes=_duration(entry, "minutes", pointer),
        strict=_strict(entry, pointer),
        also=also,
    )


def _exposure_limit(
    entry: Mapping[str, Any], pointer: str, fields: dict[str, Any]
) -> Limit:
    place = join(pointer, "bands")
    bands = tuple(
        _band(mapping(band, join(place, i)), join(place, i))
        for i, band in enumerate(listed(entry, "bands", pointer))
    )
    return ExposureLimit(
        **fields,
        unit=_unit(entry, pointer),
        quantity=entry["quantity"],
        bands=bands,
        steps=_steps(entry, pointer),
        check_every_min=_duration(entry, "check_every_min", pointer),
    )


def _band(band: Mapping[str, Any], pointer: str) -> Band:
    refuse_unknown(band, ("above", "up_to", "minutes"), pointer)
    above = number(band, "above", pointer)
    top = required(band, "up_to", pointer, "a number, or null for no upper end")
    up_to = None if top is None else number(band, "up_to", pointer)
    if up_to is not None and above >= up_to:
        raise Refused(join(pointer, "up_to"), show(up_to), f"more than {above}")
    minutes = number(band, "minutes", pointer)
    if minutes <= 0:
        raise Refused(join(pointer, "minutes"), show(minutes), "more than 0")
    return Band(above, up_to, minutes)


def _within_limit(
    entry: Mapping[str, Any], pointer: str, fields: dict[str, Any]
) -> Limit:
    of = text(entry, "of", pointer)
    step, dot, edge = of.rpartition(".")
    if dot and edge in ("start", "end") and step not in STEPS:
        raise Refused(
            join(pointer, "of"),
            show(of),
            f"a date's name, or .start or .end of {', '.join(STEPS)}",
        )
    return WithinLimit(
        **fields,
        what=text(entry, "what", pointer),
        of=of,
        days=number(entry, "days", pointer, least=Decimal(0)),
    )


def _stated_limit(
    entry: Mapping[str, Any], pointer: str, fields: dict[str, Any]
) -> Limit:
    return StatedLimit(**fields, what=text(entry, "what", pointer))


_BUILDERS: dict[str, Callable[[Mapping[str, Any], str, dict[str, Any]], Limit]] = {
    "at_least": _value_limit,
    "at_most": _value_limit,
    "dwell_at_least": _dwell_limit,
    "dwell_at_most": _dwell_limit,
    "stay_at_most": _stay_limit,
    "stay_at_least": _stay_limit,
    "cool_through": _cool_limit,
    "exposure_at_most": _exposure_limit,
    "within": _within_limit,
    "stated": _stated_limit,
}
