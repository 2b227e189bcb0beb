"""What is watched: the steps of the work and the control points judged in them."""

from dataclasses import dataclass

from safety.errors import UnknownName


@dataclass(frozen=True, slots=True)
class ControlPoint:
    """A place in the work where a limit is judged; most are steps."""

    name: str
    title: str
    is_step: bool


_ALL = (
    ControlPoint("receiving", "Receive", True),
    ControlPoint("freezing", "Freeze", True),
    ControlPoint("thawing", "Thaw", True),
    ControlPoint("curing", "Brine or cure", True),
    ControlPoint("drying", "Dry", True),
    ControlPoint("heating", "Heat", True),
    ControlPoint("cooling", "Cool", True),
    ControlPoint("packing", "Pack", True),
    ControlPoint("cold-holding", "Cold store", True),
    ControlPoint("exposure", "Time out of refrigeration", False),
    ControlPoint("labelling", "Label", False),
    ControlPoint("shelf-life", "Use-by", False),
    ControlPoint("instrument-check", "Instruments", False),
    ControlPoint("record-review", "Review of the record", False),
)

CONTROL_POINTS: dict[str, ControlPoint] = {point.name: point for point in _ALL}

# In the order of the work.
STEPS: tuple[str, ...] = tuple(point.name for point in _ALL if point.is_step)


def control_point(name: str) -> ControlPoint:
    """Return the control point called ``name``.

    Raises
    ------
    UnknownName
        If no control point has that name.
    """
    try:
        return CONTROL_POINTS[name]
    except KeyError:
        raise UnknownName("control point", name, tuple(CONTROL_POINTS)) from None
