"""Reference processes of heat: so many minutes at one temperature, and their equals.

They compare processes and help to plan. A published limit is met by its own minutes at
its own temperature, never by an equivalent worked out here.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypedDict

from numpy.typing import ArrayLike

from safety.errors import UnknownName
from safety.science.lethality import minutes_at
from safety.science.ranges import Floats
from safety.science.sourced import citation, load

_FILE = "lethality"


class Line(TypedDict):
    """The line of a process as the functions of lethality take it, °C."""

    reference_c: float
    z_c: float
    z_above_c: float | None
    span_c: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Reference:
    """A process against which heat is counted; temperatures in °C, time in minutes."""

    id: str
    target: str
    not_covered: str
    reference_c: float
    minutes: float
    reduction_log10: float
    z_c: float
    z_above_c: float | None
    counts_from_c: float
    counts_to_c: float
    source: str

    @property
    def line(self) -> Line:
        """The arguments that the functions of lethality take."""
        return {
            "reference_c": self.reference_c,
            "z_c": self.z_c,
            "z_above_c": self.z_above_c,
            "span_c": (self.counts_from_c, self.counts_to_c),
        }


def references() -> tuple[Reference, ...]:
    """Return every reference process there is.

    Returns
    -------
    tuple of Reference
        In the order of the data file. Below ``counts_from_c`` nothing is counted: there
        the line kills faster on paper than in fish, so counting would err the dangerous
        way. Above ``counts_to_c``, where the printed tables end, the rate stays.

    Examples
    --------
    >>> [one.id for one in references()][:2]
    ['listeria-70', 'e-coli-70']
    """
    data = load(_FILE)
    floor_c = float(data["floor"]["counts_from_c"])
    sources = citation(data["floor"])
    return tuple(_reference(entry, floor_c, sources) for entry in data["process"])


def reference(identity: str) -> Reference:
    """Return one reference process.

    Parameters
    ----------
    identity : str
        ``listeria-70``, ``e-coli-70``, ``spores-90`` or ``spores-90-gb``.

    Returns
    -------
    Reference
        Errs as `references` says.

    Raises
    ------
    UnknownName
        If there is none of that name.

    Examples
    --------
    >>> reference("spores-90").minutes
    10.0
    """
    every = {one.id: one for one in references()}
    if identity not in every:
        raise UnknownName("reference process", identity, tuple(every))
    return every[identity]


def equal_minutes(identity: str, temperature_c: ArrayLike) -> Floats:
    """Return the minutes at other temperatures that kill as much as a process does.

    Parameters
    ----------
    identity : str
        The process, as for `reference`.
    temperature_c : array_like
        Temperature inside the food, °C; any shape, inside the span in which the process
        counts.

    Returns
    -------
    numpy.ndarray of float64
        Minutes; the same shape.

    Raises
    ------
    OutOfRange
        If a temperature lies outside the span.
    UnknownName
        If there is no such process.

    Notes
    -----
    Worked out, not looked up: printed minutes are rounded, up to 21 % too short. Where
    two publications disagree (spores below 90 °C), the one that asks for more is
    ``spores-90``.

    Examples
    --------
    >>> round(float(equal_minutes("spores-90", 85)), 1)
    51.8
    """
    process = reference(identity)
    return minutes_at(temperature_c, reference_min=process.minutes, **process.line)


def _reference(entry: Mapping[str, Any], floor_c: float, floor: str) -> Reference:
    own_c = entry.get("counts_from_c")
    return Reference(
        id=entry["id"],
        target=entry["target"],
        not_covered=entry["not_covered"],
        reference_c=entry["reference_c"],
        minutes=entry["minutes"],
        reduction_log10=entry["reduction_log10"],
        z_c=entry["z_c"],
        z_above_c=entry.get("z_above_c"),
        counts_from_c=floor_c if own_c is None else own_c,
        counts_to_c=entry["counts_to_c"],
        source=citation(entry) + ("" if own_c is not None else f"; {floor}"),
    )
