"""Diffusion into a slab: how much has come in, how deep it is, and how it evens out."""

import math
from functools import lru_cache

import numpy as np

from safety.errors import OutOfRange
from safety.science.ranges import Floats, above_zero, within
from safety.science.tabulated import solve

_TERMS = 200  # own figure: enough for a Fourier number of 0.0001
_EVEN_TERMS = 60  # own figure: waves by which an uneven slab is described
_SHORTEST = 1e-4  # own figure: below it the short-time formula is used instead
_LONGEST = 50.0  # own figure: by then everything is even
_HALVINGS = 60  # own figure: more would change no digit of a float
_KEPT = 64  # own figure: roots kept, for one estimate asks for the same again


def fourier(diffusivity: float, seconds: float, depth_m: float) -> float:
    """Return the Fourier number: how long a time is for a depth.

    Parameters
    ----------
    diffusivity : float
        m²/s, 0 or more.
    seconds : float
        s, 0 or more.
    depth_m : float
        m, above 0: half the thickness where both faces are open, all of it where one is.

    Returns
    -------
    float
        Without a unit. By definition, so it errs in no direction.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Source: Crank, The Mathematics of Diffusion, 2nd edition, chapter 4.

    Examples
    --------
    >>> round(fourier(2e-10, 3600 * 27.3, 0.01), 3)
    0.197
    """
    spread = float(within("diffusivity", diffusivity, 0, np.inf, "m²/s"))
    time = float(within("time", seconds, 0, np.inf, "s"))
    return spread * time / above_zero("depth", depth_m, "m") ** 2


def share_taken_up(fourier_number: float, *, bath_to_slab: float = math.inf) -> float:
    """Return the share of the salt at equilibrium that a slab has taken up, as a mean.

    Parameters
    ----------
    fourier_number : float
        0 to 50.
    bath_to_slab : float
        Water of the bath to water of the slab, 0.05 or more; infinite for a large bath.

    Returns
    -------
    float
        A fraction of what it holds when slab and bath are even; within 0.0001.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    A slab of one material, faces at the strength of a stirred bath, one diffusivity. Real
    fish gapes and swells: short immersions act faster, still baths slower.
    Source: Crank, The Mathematics of Diffusion, 2nd edition, equations 4.18 and 4.37; the
    roots agree with his table 4.1.

    Examples
    --------
    >>> round(share_taken_up(0.1), 4), round(share_taken_up(0.1, bath_to_slab=1), 4)
    (0.3568, 0.5528)
    """
    time = float(within("Fourier number", fourier_number, 0, _LONGEST, ""))
    if time == 0:
        return 0.0
    if time < _SHORTEST:
        quick = 2 * math.sqrt(time / math.pi)
        more = 1.0 if math.isinf(bath_to_slab) else (1 + bath_to_slab) / bath_to_slab
        return min(1.0, quick * more)
    roots, weights, _ = _modes(bath_to_slab)
    return float(1 - weights @ np.exp(-np.square(roots) * time))


def fourier_for_share(share: float, *, bath_to_slab: float = math.inf) -> float:
    """Return the Fourier number at which a slab has taken up a share of its salt.

    Parameters
    ----------
    share : float
        A fraction of what it holds at equilibrium, 0 to 0.999.
    bath_to_slab : float
        Water of the bath to water of the slab, 0.05 or more; infinite for a large bath.

    Returns
    -------
    float
        Without a unit; the inverse of ``share_taken_up``.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Near the whole a small error of the share is a large one of the time.
    Source: as ``share_taken_up``.

    Examples
    --------
    >>> round(fourier_for_share(0.5), 4)
    0.1967
    """
    part = float(within("share of equilibrium", share, 0, _NEARLY_ALL, ""))
    return solve(
        lambda time: share_taken_up(time, bath_to_slab=bath_to_slab),
        0.0,
        _LONGEST,
        part,
        what="share of equilibrium",
    )


def level_at(
    depth_frac: float,
    fourier_number: float,
    *,
    rest_fourier: float = 0.0,
    bath_to_slab: float = math.inf,
) -> float:
    """Return the salt at one depth of a slab, against equilibrium, after bath and rest.

    Parameters
    ----------
    depth_frac : float
        From the closed side or the middle (0) to the open face (1).
    fourier_number : float
        Of the time in the bath, 0.001 to 50.
    rest_fourier : float
        Of the time out of the bath, faces closed, 0 to 50.
    bath_to_slab : float
        Water of the bath to water of the slab, 0.05 or more; infinite for a large bath.

    Returns
    -------
    float
        A fraction of the level at equilibrium. Divide by ``share_taken_up`` for a fraction
        of the mean.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    During rest nothing leaves and nothing dries. 60 waves: near the face just after the
    bath within 0.01, elsewhere within 0.001.
    Source: Crank, The Mathematics of Diffusion, 2nd edition, chapter 4.

    Examples
    --------
    >>> round(level_at(0, 0.1), 3)
    0.051
    """
    depth = float(within("depth", depth_frac, 0, 1, ""))
    time = float(within("Fourier number", fourier_number, _BRIEFEST, _LONGEST, ""))
    rest = float(within("Fourier number of rest", rest_fourier, 0, _LONGEST, ""))
    roots, weights, faces = _modes(bath_to_slab)
    waves = faces * np.exp(-np.square(roots) * time)
    if rest == 0:
        return float(1 - waves @ np.cos(roots * depth))
    mean = float(1 - weights @ np.exp(-np.square(roots) * time))
    order = np.arange(1, _EVEN_TERMS + 1) * math.pi
    apart, along = np.subtract.outer(order, roots), np.add.outer(order, roots)
    # Twice the mean of cos(order x) cos(root x) over the slab.
    overlap = np.sinc(along / math.pi) + np.sinc(apart / math.pi)
    sizes = -(overlap @ waves)
    return float(
        mean + (sizes * np.exp(-np.square(order) * rest)) @ np.cos(order * depth)
    )


@lru_cache(maxsize=_KEPT)
def first_root(bath_to_slab: float) -> float:
    """Return the first root of the finite bath.

    Parameters
    ----------
    bath_to_slab : float
        Water of the bath to water of the slab, 0.05 or more, finite.

    Returns
    -------
    float
        The least q above 0 with tan q = -bath_to_slab q. Errs in no direction.

    Raises
    ------
    OutOfRange
        If the bath is smaller, or infinite.

    Notes
    -----
    Source: Crank, The Mathematics of Diffusion, 2nd edition, table 4.1.

    Examples
    --------
    >>> round(first_root(1), 4)
    2.0288
    """
    if not math.isfinite(bath_to_slab):
        raise OutOfRange("bath to slab", f"{bath_to_slab:g}", "finite")
    return float(_modes(bath_to_slab)[0][0])


@lru_cache(maxsize=_KEPT)
def _modes(bath_to_slab: float) -> tuple[Floats, Floats, Floats]:
    """Return roots, and the weights of each in the mean and along the depth."""
    order = np.arange(_TERMS)
    if math.isinf(bath_to_slab):
        roots = np.asarray((order + 1 / 2) * math.pi, np.float64)
        return roots, 2 / np.square(roots), 2 * (-1.0) ** order / roots
    bath = float(within("bath to slab", bath_to_slab, _SMALLEST_BATH, np.inf, "times"))
    low = (order + 1 / 2) * math.pi
    high = (order + 1) * math.pi
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        # tan q + bath q, times cos q, whose sign alternates with the order.
        below = (np.sin(middle) + bath * middle * np.cos(middle)) * (-1.0) ** order > 0
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    roots = np.asarray((low + high) / 2, np.float64)
    under = 1 + bath + np.square(bath * roots)
    mean = 2 * bath * (1 + bath) / under
    return roots, mean, -2 * (1 + bath) / under / np.cos(roots)


_NEARLY_ALL = 0.999  # own figure: nearer to the whole no time can be told
_BRIEFEST = 1e-3  # own figure: below it the waves do not show the face
_SMALLEST_BATH = 0.05  # own figure: less is not a bath
