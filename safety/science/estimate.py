"""What the sciences answer with: an estimate, its range, and what it rests on."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """One estimated quantity with its range; it never meets a limit."""

    quantity: str
    unit: str
    low: float
    likely: float
    high: float
    coverage: float | None = None
    sources: tuple[str, ...] = ()
    caveats: tuple[str, ...] = ()
    is_thin: bool = False
