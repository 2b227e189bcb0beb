"""What is compared with a reading: the figures of a limit in each unit it is printed in."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from safety.judge.sentences import state
from safety.limits.model import (
    Combination,
    CoolLimit,
    ExposureLimit,
    Limit,
    StatedLimit,
    ValueLimit,
)

ANY_OF, ALL_OF = "Any one of these is enough", "All of these"


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """What a limit asks, once per unit that it is printed in, or part by part."""

    words: tuple[str, ...]
    parts: tuple["Compared", ...] = ()
    is_measured: bool = False

    @property
    def lines(self) -> tuple[str, ...]:
        """All its words one after another, part by part."""
        return (*self.words, *(line for part in self.parts for line in part.lines))


def compared(limit: Limit) -> Compared | None:
    """Return what is compared with the record; None where nothing is."""
    if type(limit) is Limit:
        return None
    if isinstance(limit, Combination):
        parts = tuple(part for one in limit.limits if (part := compared(one)))
        return Compared(
            words=(ANY_OF if limit.kind == "any_of" else ALL_OF,),
            parts=parts,
            is_measured=any(part.is_measured for part in parts),
        )
    if isinstance(limit, StatedLimit):
        return Compared(words=(f"On record: {limit.what.replace('-', ' ')}",))
    return Compared(
        words=tuple(state(one) for one in _in_each_unit(limit)),
        is_measured=isinstance(limit, ValueLimit | CoolLimit | ExposureLimit),
    )


def _in_each_unit(limit: Limit) -> Iterator[Limit]:
    yield limit
    if isinstance(limit, ValueLimit):
        for unit, value in limit.also.items():
            yield replace(limit, value=value, unit=unit, also={})
    if isinstance(limit, CoolLimit):
        for unit, (start, end) in limit.also.items():
            yield replace(limit, from_value=start, to_value=end, unit=unit, also={})
