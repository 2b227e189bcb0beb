"""What is compared with a reading: the figures of a limit in each unit it is printed in."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from safety.judge.sentences import state
from safety.limits.model import (
    Combination,
    CoolLimit,
    ExposureLimit,
    Limit,
    StatedLimit,
    ValueLimit,
)

INDENT = "  "
ANY_OF, ALL_OF = "Any one of these is enough", "All of these"


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """What a limit asks, once per unit that it is printed in, or part by part."""

    words: tuple[str, ...]
    parts: tuple["Compared", ...] = ()
    is_measured: bool = False

    def lines(self, depth: int = 0) -> Iterator[str]:
        """Yield all its words one after another, parts further in.

        Yields
        ------
        str
            One line without its end.
        """
        for words in self.words:
            yield f"{INDENT * depth}{words}"
        for part in self.parts:
            yield from part.lines(depth + 1)

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        parts = [part.as_json() for part in self.parts]
        return {"words": list(self.words), "parts": parts}


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
    before = "At most " if isinstance(limit, ExposureLimit) else ""
    return Compared(
        words=tuple(_sentence(before + state(one)) for one in _in_each_unit(limit)),
        is_measured=isinstance(limit, ValueLimit | CoolLimit | ExposureLimit),
    )


def _sentence(words: str) -> str:
    return words if words.startswith("pH") else words[:1].upper() + words[1:]


def _in_each_unit(limit: Limit) -> Iterator[Limit]:
    yield limit
    if isinstance(limit, ValueLimit):
        for unit, value in limit.also.items():
            yield replace(limit, value=value, unit=unit, also={})
    if isinstance(limit, CoolLimit):
        for unit, (start, end) in limit.also.items():
            yield replace(limit, from_value=start, to_value=end, unit=unit, also={})
