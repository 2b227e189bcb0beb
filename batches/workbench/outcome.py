"""What a calculator answers: estimates with their ranges, sentences, a table, warnings."""

import math
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from django.utils.translation import gettext as _

from batches.workbench.measures import written
from safety.science.estimate import Estimate

Answers = Mapping[str, Any]  # by name: a number in the first unit, a text, or rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """A small table of an answer."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What was worked out; nothing in it is evidence."""

    estimates: tuple[Estimate, ...] = ()
    says: tuple[str, ...] = ()
    tables: tuple[Rows, ...] = ()
    warnings: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    @property
    def all_sources(self) -> tuple[str, ...]:
        """Return every source once, in order."""
        of = [source for one in self.estimates for source in one.sources]
        return tuple(dict.fromkeys([*of, *self.sources]))

    @property
    def caveats(self) -> tuple[str, ...]:
        """Return every caveat of the estimates once, in order."""
        of = [caveat for one in self.estimates for caveat in one.caveats]
        return tuple(dict.fromkeys(of))

    def plain(self) -> dict[str, Any]:
        """Return it as plain values, to be kept."""
        return {
            "estimates": [asdict(one) for one in self.estimates],
            "says": list(self.says),
            "tables": [asdict(one) for one in self.tables],
            "warnings": list(self.warnings),
            "sources": list(self.all_sources),
        }


def kept(result: Mapping[str, Any]) -> tuple[Estimate, ...]:
    """Return the estimates of a result that was kept as plain values."""
    return tuple(
        Estimate(**one | {name: tuple(one[name]) for name in ("sources", "caveats")})
        for one in result["estimates"]
    )


WorkOut = Callable[[Answers], Outcome]

_DIGITS = 3  # own figure: more would look surer than an estimate is
_MOST_PLACES = 4  # own figure: digits behind the point
_LEAST_DIGITS = 2  # own figure: of any one figure


def shown(value: float) -> str:
    """Return a figure with three digits that mean something, as people write it."""
    if value == 0:
        return "0"
    text = f"{value:.{_DIGITS}g}"
    return f"{float(text):,.10g}"


def figure(estimate: Estimate, value: float) -> str:
    """Return one figure with the digits that the range, and its own size, let mean much."""
    places = max(_places(estimate.high - estimate.low), _places(value))
    text = f"{value:,.{min(_MOST_PLACES, max(0, places))}f}"
    return text.replace("-", "−", 1)


def sentence(estimate: Estimate) -> str:
    """Return an estimate as one line: what, about how much, and between what."""
    unit = written(estimate.unit)
    low, likely, high = (
        figure(estimate, one) for one in (estimate.low, estimate.likely, estimate.high)
    )
    return _("%(what)s: about %(likely)s, between %(low)s and %(high)s") % {
        "what": estimate.quantity,
        "likely": f"{likely} {unit}".strip(),
        "low": low,
        "high": f"{high} {unit}".strip(),
    }


def _places(size: float) -> int:
    """Return how many digits behind the point show two digits of a size."""
    size = abs(size)
    return 0 if size == 0 else _LEAST_DIGITS - 1 - math.floor(math.log10(size))
