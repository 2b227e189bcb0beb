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
    ControlPoint("receiving", "Receive", is_step=True),
    ControlPoint("freezing", "Freeze", is_step=True),
    ControlPoint("thawing", "Thaw", is_step=True),
    ControlPoint("curing", "Brine or cure", is_step=True),
    ControlPoint("drying", "Dry", is_step=True),
    ControlPoint("heating", "Heat", is_step=True),
    ControlPoint("cooling", "Cool", is_step=True),
    ControlPoint("packing", "Pack", is_step=True),
    ControlPoint("cold-holding", "Cold store", is_step=True),
    ControlPoint("exposure", "Time out of refrigeration", is_step=False),
    ControlPoint("labelling", "Label", is_step=False),
    ControlPoint("shelf-life", "Use-by", is_step=False),
    ControlPoint("instrument-check", "Instruments", is_step=False),
    ControlPoint("record-review", "Review of the record", is_step=False),
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
