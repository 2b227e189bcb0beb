"""Kind 5, plainly: minutes in bands of temperature, in total over the batch."""

import itertools

from tests.reference.bounds import MET, MISSED, NOT_SHOWN, ZERO, split_places
from tests.reference.evidence import merge
from tests.reference.units import convert, exact


def judge_exposure(batch, limit):
    """Kind 5: minutes in each band, in total over the steps that count."""
    gap = exact(limit["check_every_min"])
    bands = limit["bands"]
    least_sums = [ZERO for _ in bands]
    most_sums = [ZERO for _ in bands]
    anything = False
    for step in limit["steps"]:
        readings = batch.of([step], limit["quantity"])
        window = batch.windows.get(step)
        # Neither a window nor a reading: the step counts nothing.
        if not readings and window is None:
            continue
        anything = True
        for number, band in enumerate(bands):
            least, most = _step_exposure(
                batch, readings, window, band, limit["unit"], gap
            )
            least_sums[number] += least
            if most is None or most_sums[number] is None:
                most_sums[number] = None
            else:
                most_sums[number] += most
    if not anything:
        return [(None, NOT_SHOWN, {})]
    minutes = [exact(band["minutes"]) for band in bands]
    shares = list(zip(least_sums, most_sums, minutes, strict=True))
    observed = {
        "used_share": {
            "least": sum((least / m for least, _, m in shares), ZERO),
            "most": None
            if None in most_sums
            else sum((most / m for _, most, m in shares), ZERO),
        },
        "bands": [{"least_min": least, "most_min": most} for least, most, _ in shares],
    }
    if any(least > m for least, _, m in shares):
        return [(None, MISSED, observed)]
    if all(most is not None and most <= m for _, most, m in shares):
        return [(None, MET, observed)]
    return [(None, NOT_SHOWN, observed)]


def _step_exposure(batch, readings, window, band, unit, gap):
    """Return least and most minutes of one step in one band: the largest over its places."""
    # A window but no reading: nothing certain, the whole window possible.
    if not readings:
        return ZERO, window.reach - window.start.minute
    least, most = ZERO, ZERO
    for inside in split_places(batch, readings).values():
        place_least, place_most = _place_exposure(inside, window, band, unit, gap)
        least = max(least, place_least)
        most = max(most, place_most)
    # Readings but no window: what came before and after them is unknown.
    if window is None:
        return least, None
    return least, most


def _place_exposure(inside, window, band, unit, gap):
    # All of the place's readings lie outside: nothing of the window was observed here.
    if not inside:
        return ZERO, window.reach - window.start.minute
    moments = merge(inside)
    pieces = [
        (after.at - before.at, before, after)
        for before, after in itertools.pairwise(moments)
    ]
    if window is not None:
        # At the window's edges the nearest reading is taken to hold, unless that is too far.
        pieces.append((moments[0].at - window.start.minute, moments[0], moments[0]))
        pieces.append((window.reach - moments[-1].at, moments[-1], moments[-1]))
    least, most = ZERO, ZERO
    for length, one, other in pieces:
        lows = [
            convert(part.lo, part.unit, unit) for m in (one, other) for part in m.parts
        ]
        highs = [
            convert(part.hi, part.unit, unit) for m in (one, other) for part in m.parts
        ]
        above = exact(band["above"])
        up_to = None if band["up_to"] is None else exact(band["up_to"])
        # Too long a gap: nothing certain, all of it possible.
        if length > gap:
            most += length
            continue
        # Certainly inside: both readings wholly in above < T <= up_to.
        if min(lows) > above and (up_to is None or max(highs) <= up_to):
            least += length
        # Possibly inside: from the lowest to the highest, the band is touched.
        if max(highs) > above and (up_to is None or min(lows) <= up_to):
            most += length
    return least, most
