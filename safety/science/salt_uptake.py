"""Salt into a fillet: what it may have taken up after a time, and what it ends at.

Published figures of how fast salt moves in fish differ up to eighty times, so the range
is wide. It plans; a laboratory's figure shows that there is enough.
"""

import math

import numpy as np

from safety.science.estimate import Estimate
from safety.science.ranges import above_zero, within
from safety.science.sourced import citation, load

_TERMS = 200
_HALVINGS = 60
_WHOLE_PCT = 100.0
_EIGHT, _FOUR = 8, 4  # of the series
_S_PER_H = 3600.0
_MM_PER_M = 1000.0
_INFINITE = math.inf
_CAVEATS = (
    "Fish before rigor takes up less, thawed fish more; fat and skin are barriers.",
    (
        "The middle of a thick piece has less than the mean; a night's rest does not even "
        "it out."
    ),
)


def taken_up(fourier: float, bath_ratio: float = _INFINITE) -> float:
    """Return which share of what it ends at a slab has taken up, on the mean.

    Parameters
    ----------
    fourier : float
        Diffusivity times time over the square of the depth, 0 or more; the depth is half
        the thickness where both faces are open.
    bath_ratio : float
        Water of the bath over that of the slab, above 0; infinite for a large bath.

    Returns
    -------
    float
        0 to 1.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Notes
    -----
    Two hundred terms: right to 1e-4 from a Fourier number of 0.0005 on. Takes the
    diffusivity for constant; swelling and gaping make short dips faster than this.
    Source: Crank, The Mathematics of Diffusion.

    Examples
    --------
    >>> round(taken_up(0.1), 4), round(taken_up(0.1, 1.0), 4)
    (0.3568, 0.5528)
    """
    at = float(within("Fourier number", fourier, 0.0, _INFINITE, ""))
    if at == 0:
        return 0.0
    if math.isinf(bath_ratio):
        odd = (2 * np.arange(_TERMS) + 1) * np.pi
        left = _EIGHT / odd**2 * np.exp(-(odd**2) * at / _FOUR)
        return float(np.clip(1 - np.sum(left), 0.0, 1.0))
    ratio = above_zero("water of the bath over that of the fish", bath_ratio, "")
    low = (np.arange(_TERMS) + 1 / 2) * np.pi
    high = low + np.pi / 2
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        is_early = np.abs(np.tan(middle)) > ratio * middle
        low, high = np.where(is_early, middle, low), np.where(is_early, high, middle)
    q = (low + high) / 2
    left = 2 * ratio * (1 + ratio) / (1 + ratio + ratio**2 * q**2)
    return float(np.clip(1 - np.sum(left * np.exp(-(q**2) * at)), 0.0, 1.0))


def salt_at_rest_pct(
    brine_pct: float, *, brine_to_fish: float, moisture_pct: float
) -> float:
    """Return the salt in the water of fish that has come to rest with its brine.

    Parameters
    ----------
    brine_pct : float
        Salt, % of the brine's weight, 0 to 26.5.
    brine_to_fish : float
        Weight of brine over that of fish, above 0; may be infinite.
    moisture_pct : float
        Water of the fish, %, above 0 to 100.

    Returns
    -------
    float
        Water phase salt, %.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Notes
    -----
    All water is shared and all salt in it: the most that time can do. Against tilapia it
    erred 0.4 % of salt too high.
    Source: balance of masses.

    Examples
    --------
    >>> round(salt_at_rest_pct(10, brine_to_fish=2, moisture_pct=70), 2)
    7.41
    """
    strength = float(within("brine", brine_pct, 0.0, _WHOLE_PCT, "%"))
    water = float(within("water of the fish", moisture_pct, 0.0, _WHOLE_PCT, "%"))
    if math.isinf(brine_to_fish):
        return strength
    parts = above_zero("parts of brine to one of fish", brine_to_fish, "")
    return strength * parts / (parts + water / _WHOLE_PCT)


def uptake_pct(
    hours: float,
    *,
    thickness_mm: float,
    has_skin: bool,
    brine_pct: float,
    brine_c: float,
    moisture_pct: float,
    brine_to_fish: float = _INFINITE,
) -> Estimate:
    """Return the salt in the water of a fillet after a time in brine, on the mean.

    Parameters
    ----------
    hours : float
        Time in the brine, h, 0 or more.
    thickness_mm : float
        Of the fillet, mm, above 0.
    has_skin : bool
        Whether one face is closed by skin.
    brine_pct, brine_c : float
        Strength at the start, % by weight, and temperature, °C, 0 to 20.
    moisture_pct : float
        Water of the fish, %.
    brine_to_fish : float
        Parts of brine to one of fish, by weight; infinite for a large bath.

    Returns
    -------
    Estimate
        Water phase salt, %, before any drying; thin, for nobody measured this fish. It
        errs to too much for fat fish and fish before rigor.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    >>> salt = uptake_pct(
    ...     4, thickness_mm=25, has_skin=False, brine_pct=15.8, brine_c=4,
    ...     moisture_pct=72,
    ... )
    >>> round(salt.low, 1), round(salt.likely, 1), round(salt.high, 1)
    (1.2, 2.4, 5.4)
    """
    told = load("salt_uptake")
    lasted = float(within("time in the brine", hours, 0.0, _INFINITE, "h"))
    thick = above_zero("thickness", thickness_mm, "mm")
    depth_m = thick / _MM_PER_M / (1 if has_skin else 2)
    rest = salt_at_rest_pct(
        brine_pct, brine_to_fish=brine_to_fish, moisture_pct=moisture_pct
    )
    ratio = brine_to_fish * (_WHOLE_PCT - brine_pct) / moisture_pct
    low, likely, high = (
        rest * taken_up(speed * lasted * _S_PER_H / depth_m**2, ratio)
        for speed in _speeds(brine_c)
    )
    return Estimate(
        quantity="salt in the water of the fillet, on the mean, before drying",
        unit="percent",
        low=low,
        likely=likely,
        high=high,
        sources=tuple(
            citation(told[name]) for name in ("diffusivity", "slab", "balance")
        ),
        caveats=_CAVEATS,
        is_thin=True,
    )


def _speeds(brine_c: float) -> tuple[float, float, float]:
    """Return the diffusivities at a temperature, m²/s: slow, likely, fast."""
    told = load("salt_uptake")["diffusivity"]
    span_c = told["lowest_c"], told["highest_c"]
    cold = float(within("temperature of the brine", brine_c, *span_c, "°C"))
    zero_k = told["kelvin_at_0_c"]
    apart = 1 / (cold + zero_k) - 1 / (told["at_c"] + zero_k)
    factor = math.exp(-told["energy_j_per_mol"] / told["gas_j_per_mol_k"] * apart)
    names = ("low_m2_s", "likely_m2_s", "high_m2_s")
    slow, likely, fast = (float(told[name]) * factor for name in names)
    return slow, likely, fast
