"""Reads the data files of the sciences: figures, and the publication they come from."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def load(name: str) -> Mapping[str, Any]:
    """Return a data file of the sciences as plain values.

    Parameters
    ----------
    name : str
        Name of the file in ``safety/science/data``, without its ending.

    Returns
    -------
    Mapping
        Its tables, as written. Errs in no direction.

    Examples
    --------
    >>> load("listeria_growth")["rate"]["reference_c"]
    5.0
    """
    path = files("safety.science").joinpath(f"data/{name}.toml")
    return tomllib.loads(path.read_text("utf-8"))


def citation(entry: Mapping[str, Any]) -> str:
    """Return where the figures of an entry come from, as one line.

    Parameters
    ----------
    entry : Mapping
        A table of a data file, with publisher, title, section, edition and basis.

    Returns
    -------
    str
        The citation, with how the figures are known. Errs in no direction.

    Examples
    --------
    >>> citation(load("thermal")["fish"]).startswith("ASHRAE")
    True
    """
    told = (entry[key] for key in ("publisher", "title", "section", "edition"))
    return f"{', '.join(told)} ({known(entry['basis'])})"


def known(basis: str) -> str:
    """Return in words how a figure is known.

    Parameters
    ----------
    basis : str
        ``seen n``, ``memory``, ``derived`` or ``own``.

    Returns
    -------
    str
        For people. Errs in no direction.

    Examples
    --------
    >>> known("seen 2")
    'read in 2 places'
    """
    words = {
        "memory": "from memory, not yet read again",
        "derived": "worked out from published figures",
        "own": "our own figure",
    }
    if basis in words:
        return words[basis]
    places = basis.removeprefix("seen ")
    return "read in 1 place" if places == "1" else f"read in {places} places"
