"""A salting: what was done to a batch, and what salt would come of one diffusivity."""

import math
from dataclasses import dataclass
from typing import Literal

from safety.errors import OutOfRange
from safety.science.brine import saturated_pct
from safety.science.curing import (
    dry_cure_water_phase_salt_pct,
    shared_water_phase_salt_pct,
)
from safety.science.diffusing import fourier_for_share, level_at, share_taken_up
from safety.science.drying import water_phase_salt_after_loss_pct
from safety.science.ranges import above_zero, within
from safety.science.sourced import load

_WHOLE_PCT = 100
_MM_PER_M = 1000
_S_PER_MIN = 60
_ZERO_K = 273.15  # by definition
_LONGEST_FOURIER = 50.0  # own figure: by then everything is even
_BRIEFEST_FOURIER = 1e-3  # own figure: below it depth is scaled from this
_CHILLED = 4.0  # own figure, °C: fish is salted in the cold
_NEARLY = 0.995  # own figure: nearer to equilibrium a result tells nothing of the pace


@dataclass(frozen=True, slots=True, kw_only=True)
class Salting:
    """What was done to a batch: the names carry the units; ranges are lowest and highest.

    ``faces`` counts the sides through which salt enters: skin counts as closed. A large
    bath has no ``brine_per_fish``. A dry cure has a dose, ``salt_per_100_g``, and the
    strength of its own saturated brine.
    """

    thickness_mm: tuple[float, float]
    minutes: float
    faces: Literal[1, 2]
    moisture_pct: float
    brine_pct: float | None = None
    brine_per_fish: float | None = None
    salt_per_100_g: float | None = None
    brine_c: float = _CHILLED
    raw_salt_pct: float = 0.0
    loss_pct: tuple[float, float] = (0.0, 0.0)
    food: str = "fish"

    def __post_init__(self) -> None:
        """Refuse what no formula holds for."""
        thin, thick = self.thickness_mm
        within("thickness", self.thickness_mm, _THINNEST, _THICKEST, "mm")
        within("time of salting", self.minutes, _SHORTEST, _LONGEST, "min")
        within("moisture", self.moisture_pct, _DRIEST, _WETTEST, "%")
        within("temperature of salting", self.brine_c, _COLDEST, _WARMEST, "°C")
        within("salt in the raw food", self.raw_salt_pct, 0, _SALTIEST_RAW, "%")
        within("weight loss", self.loss_pct, 0, self.moisture_pct - _DRIEST / 2, "%")
        if thin > thick or self.loss_pct[0] > self.loss_pct[1]:
            raise OutOfRange("ranges", "highest before lowest", "lowest first")
        if (self.brine_pct is None) == (self.salt_per_100_g is None):
            raise OutOfRange("salt", "brine and dry dose", "with one of the two")
        if self.brine_pct is not None:
            within("salt in the brine", self.brine_pct, 1, saturated_pct(), "%")
            if self.brine_pct <= self.raw_water_phase_salt_pct:
                raise OutOfRange(
                    "salt in the brine", f"{self.brine_pct:g} %", "above the fish's own"
                )

    @property
    def method(self) -> str:
        """How it is salted: "brine" or "dry"."""
        return "dry" if self.brine_pct is None else "brine"

    @property
    def depth_m(self) -> float:
        """How deep the salt must go, m: of the middle of the range of thickness."""
        return math.sqrt(math.prod(self.thickness_mm)) / self.faces / _MM_PER_M

    @property
    def raw_water_phase_salt_pct(self) -> float:
        """Water phase salt before salting, %."""
        return _WHOLE_PCT * self.raw_salt_pct / (self.raw_salt_pct + self.moisture_pct)

    @property
    def bath_to_slab(self) -> float:
        """Water of the bath to water of the food; infinite for a large bath, or dry."""
        if self.brine_per_fish is None or self.brine_pct is None:
            return math.inf
        water = self.brine_per_fish * (1 - self.brine_pct / _WHOLE_PCT)
        return water / self.moisture_pct * _WHOLE_PCT

    @property
    def even_pct(self) -> float:
        """Water phase salt that salting ends at, before drying, %: an upper bound."""
        if self.brine_pct is None:
            dose = (self.salt_per_100_g or 0.0) + self.raw_salt_pct
            taken = dry_cure_water_phase_salt_pct(dose, self.moisture_pct)
            return float(taken)
        if self.brine_per_fish is None:
            return self.brine_pct
        times, own = self.brine_per_fish, self.raw_salt_pct / _WHOLE_PCT
        shared = shared_water_phase_salt_pct(self.brine_pct, times, self.moisture_pct)
        water = times + self.moisture_pct / _WHOLE_PCT
        return float(shared) + _WHOLE_PCT * own / (water + own)


def warmed(diffusivity: float, from_c: float, to_c: float) -> float:
    """Return a diffusivity at another temperature.

    Parameters
    ----------
    diffusivity : float
        m²/s, above 0.
    from_c, to_c : float
        The temperature it holds for and the one asked for, °C, -5 to 80.

    Returns
    -------
    float
        m²/s.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    As the viscosity of water changes (20 kJ/mol): x 1.23 from 4 to 10 °C. Meat showed less
    change than that, so warm salting errs high, the wrong way for a least salt.
    Source: ``salting_trials.toml``.

    Examples
    --------
    >>> round(warmed(1.0, 4, 10), 2)
    1.2
    """
    told = load("salting_trials")["warmth"]
    value = above_zero("diffusivity", diffusivity, "m²/s")
    start, end = (
        float(within("temperature", celsius, _COLDEST, _HOTTEST, "°C")) + _ZERO_K
        for celsius in (from_c, to_c)
    )
    rate = told["activation_j_mol"] / told["gas_j_mol_k"]
    return float(value * math.exp(-rate * (1 / end - 1 / start)))


def fourier_of(salting: Salting, diffusivity: float) -> float:
    """Return the Fourier number of a salting, for a diffusivity at 4 °C.

    Parameters
    ----------
    salting : Salting
        What was done.
    diffusivity : float
        m²/s at 4 °C, above 0.

    Returns
    -------
    float
        Without a unit, at most 50. By definition, so it errs in no direction.

    Notes
    -----
    Source: Crank, The Mathematics of Diffusion, 2nd edition.
    """
    told = load("salting_trials")["warmth"]
    spread = warmed(diffusivity, told["reference_c"], salting.brine_c)
    time = salting.minutes * _S_PER_MIN
    return min(spread * time / salting.depth_m**2, _LONGEST_FOURIER)


def mean_pct(salting: Salting, diffusivity: float, loss_pct: float) -> float:
    """Return the mean water phase salt that one diffusivity would lead to.

    Parameters
    ----------
    salting : Salting
        What was done.
    diffusivity : float
        m²/s at 4 °C, above 0.
    loss_pct : float
        Weight lost afterwards, % of the raw weight, all of it water.

    Returns
    -------
    float
        Water phase salt of the whole piece, %.

    Notes
    -----
    A slab in a stirred bath; shrinking, swelling, gaping and drip are left out. Dry salt
    works as saturated brine until the dose is used up. Errs in no known direction.
    Source: Crank, The Mathematics of Diffusion, 2nd edition; balance of masses.
    """
    share = share_taken_up(
        fourier_of(salting, diffusivity), bath_to_slab=salting.bath_to_slab
    )
    return _dried(salting, _between(salting, share), loss_pct)


def centre_pct(
    salting: Salting, diffusivity: float, loss_pct: float, rest_min: float
) -> float:
    """Return the water phase salt in the middle of a piece after a rest.

    Parameters
    ----------
    salting : Salting
        What was done.
    diffusivity : float
        m²/s at 4 °C, above 0.
    loss_pct : float
        Weight lost afterwards, % of the raw weight, all of it water.
    rest_min : float
        Minutes out of the brine, at the same temperature, before it is smoked or cut.

    Returns
    -------
    float
        Water phase salt at the middle, or at the skin of a piece with one open face, %.

    Notes
    -----
    Errs low where heating goes on evening it out, high where the middle dries less than
    the whole. Source: as ``mean_pct``.
    """
    time, bath = fourier_of(salting, diffusivity), salting.bath_to_slab
    rest = min(time * rest_min / salting.minutes, _LONGEST_FOURIER)
    least = max(time, _BRIEFEST_FOURIER)
    level = level_at(0.0, least, rest_fourier=rest, bath_to_slab=bath)
    level *= share_taken_up(time, bath_to_slab=bath) / share_taken_up(
        least, bath_to_slab=bath
    )
    return _dried(salting, _between(salting, max(0.0, level)), loss_pct)


def diffusivity_for(salting: Salting, measured_pct: float) -> float:
    """Return the diffusivity at 4 °C that would have led to a measured water phase salt.

    Parameters
    ----------
    salting : Salting
        What was done; the middle of its loss is used.
    measured_pct : float
        Mean water phase salt of the finished food, %.

    Returns
    -------
    float
        m²/s: an apparent one, which takes in all that the slab leaves out.

    Raises
    ------
    OutOfRange
        If the result lies at or beyond what the salting can lead to, or below the raw food.

    Notes
    -----
    Near equilibrium a small error of the result is a large one of the diffusivity.
    Source: as ``mean_pct``.
    """
    loss = sum(salting.loss_pct) / 2
    low, high = (
        _dried(salting, _between(salting, end), loss) for end in (0.0, _NEARLY)
    )
    if not low < measured_pct < high:
        raise OutOfRange(
            "water phase salt of this salting",
            f"{measured_pct:g} %",
            f"from {low:.2f} to {high:.2f} %",
        )
    finished = (
        measured_pct * (salting.moisture_pct - loss) / (_WHOLE_PCT - measured_pct)
    )
    before = _WHOLE_PCT * finished / (finished + salting.moisture_pct)
    own, top = salting.raw_water_phase_salt_pct, _driving_pct(salting)
    needed = (before - own) / (top - own)
    time = fourier_for_share(needed, bath_to_slab=salting.bath_to_slab)
    told = load("salting_trials")["warmth"]
    spread = time * salting.depth_m**2 / (salting.minutes * _S_PER_MIN)
    return warmed(spread, salting.brine_c, told["reference_c"])


def _driving_pct(salting: Salting) -> float:
    return saturated_pct() if salting.brine_pct is None else salting.even_pct


def _between(salting: Salting, share: float) -> float:
    own = salting.raw_water_phase_salt_pct
    return min(own + share * (_driving_pct(salting) - own), salting.even_pct)


def _dried(salting: Salting, water_phase_salt: float, loss_pct: float) -> float:
    moisture = salting.moisture_pct
    salt = water_phase_salt * moisture / (_WHOLE_PCT - water_phase_salt)
    # Of 100 parts of the raw weight and the salt that came in: the same for all of them.
    scale = _WHOLE_PCT / max(_WHOLE_PCT, salt + moisture)
    return float(
        water_phase_salt_after_loss_pct(
            salt * scale, moisture * scale, loss_pct * scale
        )
    )


_THINNEST, _THICKEST = 2.0, 125.0  # own figures, mm: pieces that are salted
_SHORTEST, _LONGEST = 1.0, 30 * 24 * 60.0  # own figures, min
_DRIEST, _WETTEST = 20.0, 90.0  # own figures, %: raw fish and meat
_COLDEST, _WARMEST, _HOTTEST = -5.0, 30.0, 80.0  # own figures, °C
_SALTIEST_RAW = 5.0  # own figure, %
