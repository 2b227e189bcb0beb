"""Random small batch files, valid and full of values that lie exactly on a limit.

``random_doc(rng, kind)`` draws one from a ``random.Random``; ``batch_docs(kind)`` is the
same as a hypothesis strategy. Times lie on a grid of five minutes and values on a grid of
the limit's own, so that equal instants, equal gaps and equal values are common.
"""

import random

from hypothesis import strategies as st

from tests.reference.draft import TEMPERATURES, Draft, number

DWELLS = ("dwell_at_least", "dwell_at_most")
STAYS = ("stay_at_most", "stay_at_least")
VALUES = ("at_least", "at_most")
COMBINATIONS = ("any_of", "all_of")
KINDS = (
    *VALUES,
    *DWELLS,
    *STAYS,
    *COMBINATIONS,
    "cool_through",
    "exposure_at_most",
    "within",
    "stated",
)

MINUTES = (5, 10, 15, 20, 25, 30, 40, 45, 60, 90, 120)
POINTS = ("water-phase-salt", "nitrite", "thickness", "mass", "ph", "water-activity")
OTHER_CONTROL_POINTS = ("record-review", "labelling", "shelf-life")
WHATS = ("keep-refrigerated", "net-weight", "use-by", "packed", "plan-signed")


def random_doc(rng, kind=None):
    """Draw a batch file with one limit of the kind; with no kind, one to three of any."""
    draft = Draft(rng)
    if kind is not None:
        kinds = [kind]
    else:
        kinds = [rng.choice(KINDS) for _ in range(rng.randint(1, 3))]
    limits = [_limit(draft, some) for some in kinds]
    if rng.random() < 0.15:
        draft.add_readings(rng.choice(draft.steps), "surface-temperature", None)
    return draft.document(limits)


def batch_docs(kind=None):
    """Return the strategy of such batch files."""
    seeds = st.integers(min_value=0, max_value=2**32 - 1)
    return seeds.map(lambda seed: random_doc(random.Random(seed), kind))


def _limit(draft, kind):
    """Draw a limit with its id and control point, and the records it looks at."""
    rng = draft.rng
    step = rng.choice(draft.steps)
    body = _body(draft, kind, step, depth=0)
    control_point = step
    if kind == "exposure_at_most":
        control_point = "exposure"
    elif kind in {"within", "stated"} or rng.random() < 0.15:
        control_point = rng.choice(OTHER_CONTROL_POINTS)
    if control_point != step and kind not in OTHERS:
        body["step"] = step
    return {"id": draft.new_id(), "control_point": control_point, **body}


def _body(draft, kind, step, depth, quantity=None):
    if kind in VALUES:
        return _value(draft, kind, step, quantity)
    if kind in DWELLS:
        return _dwell(draft, kind, step, quantity)
    if kind in STAYS:
        return _stay(draft, kind, step, quantity)
    if kind in COMBINATIONS:
        return _combination(draft, kind, step, depth, quantity)
    return OTHERS[kind](draft)


def _bounded(draft, kind, step, quantity, direction):
    """Draw the keys of a limit with one figure, and readings about that figure."""
    rng = draft.rng
    pair = draft.figures(quantity)
    (unit, figure), also = pair[0], pair[1:]
    body = {"kind": kind, "quantity": quantity, "value": number(figure), "unit": unit}
    if also and rng.random() < 0.5:
        body["printed_also"] = {"value": number(also[0][1]), "unit": also[0][0]}
    if rng.random() < 0.2:
        body["strict"] = rng.random() < 0.8
    draft.add_readings(step, quantity, pair, direction)
    return body


def _value(draft, kind, step, quantity):
    quantity = quantity or draft.rng.choice((*POINTS, *TEMPERATURES))
    direction = 1 if kind == "at_least" else -1
    return _bounded(draft, kind, step, quantity, direction)


def _dwell(draft, kind, step, quantity):
    rng = draft.rng
    quantity = quantity or rng.choice(TEMPERATURES)
    direction = 1 if kind == "dwell_at_least" else -1
    body = _bounded(draft, kind, step, quantity, direction)
    body["minutes"] = rng.choice((0, 0, *MINUTES))
    body["check_every_min"] = draft.gap()
    return body


def _stay(draft, kind, step, quantity):
    rng = draft.rng
    quantity = quantity or rng.choice((*TEMPERATURES, "relative-humidity"))
    direction = -1 if kind == "stay_at_most" else 1
    body = _bounded(draft, kind, step, quantity, direction)
    if rng.random() < 0.6:
        body["excursion_min"] = rng.choice((0, *MINUTES))
    body["check_every_min"] = draft.gap()
    return body


def _cooling(draft):
    rng = draft.rng
    quantity = rng.choice(("core-temperature", "product-temperature"))
    hot, cold = rng.choice((
        ((("degF", "135"), ("degC", "57.2")), (("degF", "70"), ("degC", "21.1"))),
        ((("degF", "70"), ("degC", "21.1")), (("degF", "41"), ("degC", "5"))),
        ((("degC", "60"), ("degF", "140")), (("degC", "21"), ("degF", "70"))),
    ))
    body = {
        "kind": "cool_through",
        "quantity": quantity,
        "from": number(hot[0][1]),
        "to": number(cold[0][1]),
        "unit": hot[0][0],
        "minutes": rng.choice((0, *MINUTES)),
    }
    if rng.random() < 0.4:
        body["printed_also"] = {
            "from": number(hot[1][1]),
            "to": number(cold[1][1]),
            "unit": hot[1][0],
        }
    if rng.random() < 0.2:
        body["strict"] = True
    steps = ["heating", "cooling"]
    if rng.random() < 0.3:
        steps = rng.choice((
            ["cooling"],
            ["heating"],
            ["cooling", "packing"],
            ["heating", "cooling", "packing"],
            ["packing", "heating"],
        ))
        body["steps"] = steps
    draft.add_cooling(steps, quantity, hot, cold)
    return body


def _exposure(draft):
    rng = draft.rng
    quantity = rng.choice(TEMPERATURES)
    unit, edges = rng.choice((
        ("degF", (("40", "70"), ("70", None))),
        ("degF", (("41", "50"),)),
        ("degF", (("40", "50"), ("45", "70"), ("60", None))),
        ("degC", (("5", "21"), ("21", None))),
        ("degC", (("4.5", None), ("10", "10.5"))),
    ))
    bands = [
        {
            "above": number(above),
            "up_to": None if up_to is None else number(up_to),
            "minutes": rng.choice(MINUTES),
        }
        for above, up_to in edges
    ]
    steps = rng.sample(draft.steps, rng.randint(1, min(3, len(draft.steps))))
    for step in steps:
        if rng.random() < 0.8:
            above, up_to = rng.choice(edges)
            edge = up_to if up_to is not None and rng.random() < 0.5 else above
            draft.add_readings(step, quantity, ((unit, edge),), rng.choice((-1, 1)))
        else:
            draft.add_window(step)
    return {
        "kind": "exposure_at_most",
        "quantity": quantity,
        "unit": unit,
        "bands": bands,
        "steps": steps,
        "check_every_min": draft.gap(),
    }


def _within(draft):
    rng = draft.rng
    what = rng.choice(WHATS)
    days = rng.choice((0, 1, 2, 7, 14))
    draft.add_window("packing")
    of = rng.choice(("packing.end", "packing.start", "record", "curing.end"))
    if of == "record" and rng.random() < 0.8:
        draft.add_date(of, rng.choice((0, -60, 600)))
    if rng.random() < 0.85:
        apart = days + rng.choice((-1, 0, 0, 0, 1, -days - 1))
        draft.add_date(what, apart * 24 * 60 + rng.choice((-600, -60, 0, 60, 900)))
    return {"kind": "within", "what": what, "of": of, "days": days}


def _stated(draft):
    rng = draft.rng
    what = rng.choice(WHATS)
    if rng.random() < 0.7:
        draft.statements[what] = rng.random() < 0.6
    return {"kind": "stated", "what": what}


def _combination(draft, kind, step, depth, quantity):
    """Draw one to three members: all of one series, or of anything."""
    rng = draft.rng
    same = quantity is not None or rng.random() < 0.6
    if same:
        quantity = quantity or rng.choice(TEMPERATURES)
        kinds = (*VALUES, *DWELLS, *STAYS)
    else:
        kinds = KINDS
    members = []
    for _ in range(rng.randint(1, 3)):
        member_kind = rng.choice(kinds)
        if depth == 0 and rng.random() < 0.2:
            member_kind = rng.choice(COMBINATIONS)
        if depth > 0 and member_kind in COMBINATIONS:
            member_kind = "stated"
        member_step = step
        if not same and rng.random() < 0.3:
            member_step = rng.choice(draft.steps)
        body = _body(draft, member_kind, member_step, depth + 1, quantity)
        if member_step != step and member_kind not in OTHERS:
            body["step"] = member_step
        members.append({"id": draft.new_id(), **body})
    return {"kind": kind, "limits": members}


OTHERS = {
    "cool_through": _cooling,
    "exposure_at_most": _exposure,
    "within": _within,
    "stated": _stated,
}
