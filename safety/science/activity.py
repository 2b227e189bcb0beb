"""Water activity from salt and sugar, and what it says of the salt: hints, not proofs."""

import math
from collections.abc import Mapping
from typing import Any

from safety.errors import UnknownName
from safety.science.brine import molality, salt_pct_of_molality
from safety.science.estimate import Estimate
from safety.science.ranges import within
from safety.science.salt import water_activity_from_water_phase_salt_pct
from safety.science.sourced import citation, load
from safety.science.tabulated import between, solve

_G_PER_KG = 1000
_IONS = 2  # sodium and chloride
_ZERO_K = 273.15  # by definition
_TABLES_AT = 25.0  # own figure, °C: as tables of water activity are printed
_SALT_ALONE = (
    "Reckoned from salt alone: lactate, sugar, nitrite and drying lower it further."
)
_NOT_BACK = "A low water activity does not show that there is enough salt."
SUGARS = ("sucrose", "glucose", "fructose", "glycerol")


def osmotic_coefficient(mol_per_kg: float, brine_c: float = _TABLES_AT) -> float:
    """Return the osmotic coefficient of salt in water.

    Parameters
    ----------
    mol_per_kg : float
        Moles of salt in a kilogram of water, 0 to 6.15.
    brine_c : float
        Temperature, °C, 0 to 40.

    Returns
    -------
    float
        Without a unit; within 0.002 at 25 °C; errs in no known direction.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    At exactly 25 °C by the constants of 1973, else by those that depend on temperature;
    the two agree there within 0.0005.
    Source: Pitzer and Mayorga 1973; Appelo 2015.

    Examples
    --------
    >>> round(osmotic_coefficient(6), 3)
    1.273
    """
    told, (debye, b0, b1, c) = _constants(brine_c)
    moles = float(within("salt", mol_per_kg, 0, told["highest_mol_kg"], "mol/kg"))
    root = math.sqrt(moles)
    near = debye * root / (1 + told["b"] * root)
    pairs = b0 + b1 * math.exp(-told["alpha"] * root)
    return float(1 - near + moles * pairs + moles**2 * c)


def activity_coefficient(mol_per_kg: float) -> float:
    """Return the mean activity coefficient of salt in water at 25 °C.

    Parameters
    ----------
    mol_per_kg : float
        Moles of salt in a kilogram of water, 0 to 6.15.

    Returns
    -------
    float
        Without a unit; within 0.005; errs in no known direction.

    Raises
    ------
    OutOfRange
        If there is more salt than dissolves.

    Notes
    -----
    Source: Pitzer and Mayorga 1973.

    Examples
    --------
    >>> round(activity_coefficient(1), 3)
    0.656
    """
    told, (debye, b0, b1, c) = _constants(_TABLES_AT)
    moles = float(within("salt", mol_per_kg, 0, told["highest_mol_kg"], "mol/kg"))
    if moles == 0:
        return 1.0
    root, alpha, b = math.sqrt(moles), told["alpha"], told["b"]
    field = -debye * (root / (1 + b * root) + _IONS / b * math.log(1 + b * root))
    bend = 1 - (1 + alpha * root - alpha**2 * moles / _IONS) * math.exp(-alpha * root)
    second = _IONS * b0 + _IONS * b1 / (alpha**2 * moles) * bend
    return math.exp(field + moles * second + moles**2 * (c + c / _IONS))


def water_activity_of_brine(
    water_phase_salt: float, brine_c: float = _TABLES_AT
) -> float:
    """Return the water activity of plain brine.

    Parameters
    ----------
    water_phase_salt : float
        Salt over salt and water, %, 0 to 26.4.
    brine_c : float
        Temperature, °C, 0 to 40.

    Returns
    -------
    float
        Water activity, a fraction; within 0.001 at 25 °C.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    For a food it is an upper estimate: whatever else is dissolved lowers it.
    Source: as ``osmotic_coefficient``.

    Examples
    --------
    >>> round(water_activity_of_brine(5), 4)
    0.9702
    """
    moles = molality(water_phase_salt)
    return _activity(moles, osmotic_coefficient(moles, brine_c))


def water_activity_from_osmotic(mol_per_kg: float, coefficient: float) -> float:
    """Return the water activity that belongs to a published osmotic coefficient of salt.

    Parameters
    ----------
    mol_per_kg : float
        Moles of salt in a kilogram of water, 0 to 7.
    coefficient : float
        Osmotic coefficient, 0.5 to 2.

    Returns
    -------
    float
        Water activity, a fraction. By definition, so it errs in no direction.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Source: definition of the osmotic coefficient.

    Examples
    --------
    >>> round(water_activity_from_osmotic(6, 1.271), 3)
    0.76
    """
    low, high = _COEFFICIENTS
    moles = float(within("salt", mol_per_kg, 0, _MOST_MOLES, "mol/kg"))
    return _activity(
        moles, float(within("osmotic coefficient", coefficient, low, high, ""))
    )


def water_phase_salt_of_brine_pct(water_activity: float) -> float:
    """Return the strength of the plain brine that has a water activity at 25 °C.

    Parameters
    ----------
    water_activity : float
        A fraction, 0.753 to 1.

    Returns
    -------
    float
        Salt over salt and water, %.

    Raises
    ------
    OutOfRange
        If no brine of plain salt has it.

    Notes
    -----
    For a food it errs HIGH, the wrong way for a least salt: what else is dissolved looks
    like salt. It never shows that there is enough of it.
    Source: as ``osmotic_coefficient``.

    Examples
    --------
    >>> round(water_phase_salt_of_brine_pct(0.97), 2)
    5.03
    """
    most = salt_pct_of_molality(load("water_activity")["pitzer"]["highest_mol_kg"])
    return solve(
        lambda salt: -water_activity_of_brine(salt),
        0.0,
        most,
        -float(within("water activity", water_activity, 0, 1, "")),
        what="minus the water activity",
    )


def short_water_activity(water_phase_salt: float) -> float:
    """Return the water activity of salt by the short equation used in seafood work.

    Parameters
    ----------
    water_phase_salt : float
        %, 0 to 14.

    Returns
    -------
    float
        Water activity; up to 0.0006 above plain brine up to 13 %.

    Raises
    ------
    OutOfRange
        Above 14 %.

    Notes
    -----
    For a food an upper estimate. Source: Ross and Dalgaard 2004, after Resnik and Chirife
    1988; coefficients from memory.

    Examples
    --------
    >>> round(short_water_activity(3.5), 4)
    0.9801
    """
    told = load("water_activity")["short"]
    return float(
        water_activity_from_water_phase_salt_pct(
            water_phase_salt,
            linear=told["linear"],
            square=told["square"],
            highest_pct=told["highest_pct"],
        )
    )


def short_water_phase_salt_pct(water_activity: float) -> float:
    """Return the water phase salt by the short equation, the other way.

    Parameters
    ----------
    water_activity : float
        A fraction, 0.935 to 0.995.

    Returns
    -------
    float
        %, within 0.01 of plain brine.

    Raises
    ------
    OutOfRange
        Outside that range.

    Notes
    -----
    For a food it errs HIGH, as ``water_phase_salt_of_brine_pct``. Source: the same;
    coefficients from memory.

    Examples
    --------
    >>> round(short_water_phase_salt_pct(0.97), 3)
    5.037
    """
    told = load("water_activity")["short"]
    aw = within(
        "water activity", water_activity, told["back_lowest"], told["back_highest"], ""
    )
    off = float(aw) - told["back_about"]
    return float(sum(each * off**power for power, each in enumerate(told["back"])))


def salted_fish_water_activity(mol_per_kg: float) -> float:
    """Return the water activity of moist salted fish by a line through measurements.

    Parameters
    ----------
    mol_per_kg : float
        Moles of salt in a kilogram of all the water, 0.1 to 6.15.

    Returns
    -------
    float
        Water activity, a fraction.

    Raises
    ------
    OutOfRange
        Outside the range.

    Notes
    -----
    Lies below plain brine: 0.004 at 3.5 % of water phase salt, 0.013 at 10 %. The range
    that was measured was not read: near the ends it errs in no known direction.
    Source: Lupin, Boeri and Moschiar 1981.

    Examples
    --------
    >>> round(salted_fish_water_activity(1), 3)
    0.96
    """
    told = load("water_activity")["salted_fish"]
    low, high = told["lowest_mol_kg"], told["highest_mol_kg"]
    moles = float(within("salt", mol_per_kg, low, high, "mol/kg"))
    return float(told["intercept"] - told["slope"] * moles)


def sugar_water_activity(solute: str, g_per_100_g_water: float) -> float:
    """Return the water activity that a sugar alone gives water.

    Parameters
    ----------
    solute : str
        One of ``SUGARS``.
    g_per_100_g_water : float
        Grams of it to 100 g of water, 0 to 200.

    Returns
    -------
    float
        Water activity, a fraction.

    Raises
    ------
    OutOfRange
        If there is more of it.
    UnknownName
        If the solute is not known.

    Notes
    -----
    Errs in no known direction. Source: Norrish 1966; constants from memory.

    Examples
    --------
    >>> round(sugar_water_activity("sucrose", 10), 4)
    0.9946
    """
    told, masses = load("water_activity")["sugars"], load("water_activity")["masses"]
    if solute not in SUGARS:
        raise UnknownName("sugar", solute, SUGARS)
    most = told["highest_g_per_100_g_water"]
    weight = float(within(solute, g_per_100_g_water, 0, most, "g to 100 g of water"))
    mass = masses["glucose_g" if solute == "fructose" else f"{solute}_g"]
    moles, water = weight / mass, 100 / masses["water_g"]
    share = moles / (moles + water)
    return float((1 - share) * math.exp(-told[solute] * share**2))


def food_water_activity(
    water_phase_salt: float,
    *,
    sucrose_g_per_100_g_water: float = 0.0,
    has_other_solutes: bool = False,
    food_c: float = _TABLES_AT,
) -> Estimate:
    """Return the water activity of salted fish as a range.

    Parameters
    ----------
    water_phase_salt : float
        %, 0.6 to 26.4.
    sucrose_g_per_100_g_water : float
        Grams of sugar, as sucrose, to 100 g of the water, 0 to 200.
    has_other_solutes : bool
        Whether lactate, much nitrite or strong drying join in, or nobody knows.
    food_c : float
        Temperature, °C, 0 to 40.

    Returns
    -------
    Estimate
        Water activity, without a claim of coverage: three published products are too few.
        With other solutes, or sugar, it is thin: only the high end then says anything.

    Raises
    ------
    OutOfRange
        If a figure is outside its range.

    Notes
    -----
    Likely: plain brine, times what the sugar alone gives. Low: the line of moist salted
    fish less 0.005. High: plain brine and 0.005 more (own figures). The likely value errs
    high for anything but salted fish. Source: ``water_activity.toml``.

    Examples
    --------
    >>> round(food_water_activity(3.5, sucrose_g_per_100_g_water=5).likely, 4)
    0.9769
    """
    told = load("water_activity")
    sugar = sugar_water_activity("sucrose", sucrose_g_per_100_g_water)
    plain = water_activity_of_brine(water_phase_salt, food_c) * sugar
    fish = salted_fish_water_activity(molality(water_phase_salt)) * sugar
    meter = told["food"]["meter"]
    is_thin = has_other_solutes or sucrose_g_per_100_g_water > 0
    return Estimate(
        quantity="water activity",
        unit="1",
        low=min(fish, plain) - meter,
        likely=plain,
        high=min(1.0, plain + meter),
        sources=tuple(
            citation(told[name]) for name in ("pitzer", "salted_fish", "sugars", "food")
        ),
        caveats=(_SALT_ALONE, _NOT_BACK),
        is_thin=is_thin,
    )


def _activity(moles: float, coefficient: float) -> float:
    water_kg = load("water_activity")["masses"]["water_g"] / _G_PER_KG
    return math.exp(-_IONS * moles * coefficient * water_kg)


def _constants(
    brine_c: float,
) -> tuple[Mapping[str, Any], tuple[float, float, float, float]]:
    """Return the figures of 25 °C, and the four constants at a temperature."""
    told = load("water_activity")
    plain, warm = told["pitzer"], told["pitzer_by_temperature"]
    low, high = warm["lowest_c"], warm["highest_c"]
    celsius = float(within("temperature", brine_c, low, high, "°C"))
    if celsius == _TABLES_AT:
        return plain, (plain["debye"], plain["b0"], plain["b1"], plain["c"])
    at, about = celsius + _ZERO_K, warm["reference_k"]
    steps = (
        1.0,
        1 / at - 1 / about,
        math.log(at / about),
        at - about,
        at**2 - about**2,
        1 / at**2 - 1 / about**2,
    )
    b0, b1, c = (
        sum(a * step for a, step in zip(warm[name], steps, strict=True))
        for name in ("b0", "b1", "c")
    )
    # The data file holds C of phi; the equation of 1973 counts it the same way.
    debye = float(between(warm["debye_c"], warm["debye"], celsius))
    return plain, (debye, b0, b1, c)


_COEFFICIENTS = 0.5, 2.0  # own figures: between which osmotic coefficients lie
_MOST_MOLES = 7.0  # own figure: beyond saturation at any temperature
