"""Published models that the product does not offer: by them the tests hold what it does.

Growth with a lag (Baranyi and Roberts 1994; Buchanan and others 1997, three straight
phases) and one curve for all bacteria (Snyder 2001, fitted). A lag is nothing to rely on.
"""

import math

# Snyder 2001, table 1: four figures fitted to it, °F and doublings an hour (derived).
SLOPE, COLDEST_F, BEND, HOTTEST_F = 0.017778, 26.74, 0.2480, 126.59


def baranyi_log10(hours, *, start, ceiling, rate_per_h, lag_work):
    """Return log10 at a constant rate of growth, in natural units, with a lag."""
    waited = math.exp(-rate_per_h * hours)
    adjusted = hours + (1 / rate_per_h) * math.log(
        waited + math.exp(-lag_work) - math.exp(-rate_per_h * hours - lag_work)
    )
    grown = rate_per_h * adjusted
    room = math.exp((ceiling - start) * math.log(10))
    natural = grown - math.log(1 + (math.exp(grown) - 1) / room)
    return start + natural / math.log(10)


def state_at_the_start(lag_work):
    """Return q0, its logarithm and alpha0 by the work of a lag."""
    q = 1 / (math.exp(lag_work) - 1)
    return q, math.log(q), q / (1 + q)


def three_phases_h(log10, *, lag_h, rate_log10_per_h):
    """Return the hours until so many powers of ten, flat first and straight then."""
    return lag_h + log10 / rate_log10_per_h


def generic_hours_per_doubling(fahrenheit):
    """Return the hours of a doubling by one curve for all bacteria of food."""
    falls = 1 - math.exp(BEND * (fahrenheit - HOTTEST_F))
    return 1 / (SLOPE * (fahrenheit - COLDEST_F) * falls) ** 2


def usual_sum_min(instants_min, rates):
    """Return minutes by the mean rate of both ends of each interval."""
    pairs = zip(instants_min, instants_min[1:], rates, rates[1:], strict=False)
    return sum((late - early) * (a + b) / 2 for early, late, a, b in pairs)
