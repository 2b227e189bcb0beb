"""Batch files for the tests of the judge: one good one, and ways to change it."""

import copy
import json
from datetime import UTC, datetime, timedelta

from safety.judge import judge_batch, read_batch

NOW = datetime(2026, 6, 1, tzinfo=UTC)
START = datetime.fromisoformat("2026-05-02T10:00:00-07:00")
GONE = object()


def at(minutes):
    """Write the instant so many minutes after the start of the heating."""
    return (START + timedelta(minutes=minutes)).isoformat()


def temperature(value, unit="degF"):
    return {"value": value, "unit": unit}


def check(minutes, shown=32, true=32, **more):
    return {
        "at": at(minutes),
        "method": "ice-point",
        "shown": temperature(shown),
        "true": temperature(true),
        **more,
    }


def reading(minutes, value, **more):
    """Write one core temperature of the heating at place A, by thermometer P1."""
    entry = {
        "step": "heating",
        "quantity": "core-temperature",
        "place": "A",
        "at": at(minutes),
        "value": value,
        "unit": "degF",
        "instrument": "P1",
        **more,
    }
    return {key: value for key, value in entry.items() if value is not None}


def trace(values, **more):
    """Write a logged core temperature of the cooling, still without its instants."""
    return {
        "step": "cooling",
        "quantity": "core-temperature",
        "place": "A",
        "unit": "degF",
        "instrument": "P1",
        "values": values,
        **more,
    }


def sample(minutes, quantity, value, unit="percent", **more):
    """Write one laboratory result of the packing, without place or instrument."""
    return reading(
        minutes,
        value,
        **{
            "step": "packing",
            "quantity": quantity,
            "unit": unit,
            "place": None,
            "instrument": None,
            **more,
        },
    )


def window(start=0, end=185, step="heating"):
    return {
        "step": step,
        "start": at(start),
        "end": None if end is None else at(end),
    }


def limit(kind="dwell_at_least", **more):
    """Write one limit on the core temperature of the heating."""
    entry = {
        "id": "core",
        "control_point": "heating",
        "kind": kind,
        "quantity": "core-temperature",
        "value": 145,
        "unit": "degF",
    }
    if kind.startswith("dwell"):
        entry |= {"minutes": 30, "check_every_min": 15}
    if kind.startswith("stay"):
        entry |= {"check_every_min": 15}
    return entry | more


def document(**parts):
    """Write a batch file with one sound thermometer, judged two days after."""
    whole = {
        "format": "brinewright.batch/1",
        "judged_at": at(2 * 24 * 60),
        "instruments": [
            {
                "id": "P1",
                "measures": "temperature",
                "checks": [check(-120), check(24 * 60)],
            }
        ],
        "windows": [window()],
        "readings": [reading(minute, 147) for minute in (60, 75, 90)],
        "limits": [limit()],
    } | parts
    return {key: part for key, part in whole.items() if part is not GONE}


def good():
    """Write a batch file that uses every part of the format."""
    return copy.deepcopy(
        document(
            product={
                "name": "Invented fish, smoked",
                "food": "coho-salmon",
                "process": "hot-smoked",
                "packaging": "reduced-oxygen",
                "storage": "refrigerated",
                "programme": "seafood-processor",
                "jurisdiction": "US-WA",
                "facts": {"nitrite-added": "no"},
            },
            batch={"code": "T-1"},
            instruments=[
                {
                    "id": "P1",
                    "measures": "temperature",
                    "tolerance": temperature(2),
                    "check_every_days": 30,
                    "checks": [
                        check(-120, 32.4, adjusted=False),
                        check(24 * 60, adjusted=True)
                        | {"shown": temperature(0.1, "degC")}
                        | {"true": temperature(0, "degC")},
                    ],
                },
                {"id": "M1", "measures": "ph"},
            ],
            windows=[
                window(),
                window(200, 320, "cooling"),
                window(330, None, "packing"),
            ],
            readings=[
                reading(60, 147, entered_at=at(61)),
                reading(75, 63.9, unit="degC", place="A"),
                reading(90, 147.25),
                reading(90, 147, place=None),
                sample(400, "salt", 3.5),
                sample(400, "moisture", 60),
            ],
            traces=[
                trace([140, 68.5, 40]) | {"start": at(200), "every_s": 3600},
                trace([140, 41], place="B") | {"at": [at(200), at(300)]},
            ],
            statements=[{"what": "label-keep-refrigerated", "complies": True}],
            dates=[{"what": "use-by", "at": at(14 * 24 * 60)}],
            limits=[
                limit("at_least", id="value", printed_also=temperature(60, "degC")),
                limit(
                    "dwell_at_least",
                    minutes=15,
                    strict=True,
                    value=63,
                    unit="degC",
                    printed_also=temperature(144),
                ),
                limit("stay_at_most", id="stay", value=200, excursion_min=5)
                | {"check_every_min": 120},
                {
                    "id": "cool",
                    "control_point": "cooling",
                    "kind": "cool_through",
                    "quantity": "core-temperature",
                    "from": 135,
                    "to": 70,
                    "unit": "degF",
                    "minutes": 120,
                    "steps": ["heating", "cooling"],
                    "printed_also": {"from": 57.2, "to": 21.1, "unit": "degC"},
                },
                {
                    "id": "out",
                    "control_point": "exposure",
                    "kind": "exposure_at_most",
                    "quantity": "core-temperature",
                    "unit": "degF",
                    "bands": [
                        {"above": 40, "up_to": 70, "minutes": 240},
                        {"above": 70, "up_to": None, "minutes": 150},
                    ],
                    "steps": ["cooling"],
                    "check_every_min": 120,
                },
                {
                    "id": "use-by",
                    "control_point": "shelf-life",
                    "kind": "within",
                    "what": "use-by",
                    "of": "packing.start",
                    "days": 14,
                },
                {
                    "id": "salt",
                    "control_point": "packing",
                    "kind": "any_of",
                    "limits": [
                        {
                            "id": "wps",
                            "kind": "at_least",
                            "quantity": "water-phase-salt",
                            "value": 3.5,
                            "unit": "percent",
                        },
                        {
                            "id": "both",
                            "kind": "all_of",
                            "limits": [
                                {"id": "label", "kind": "stated", "what": "frozen"}
                            ],
                        },
                    ],
                },
            ],
        )
    )


def put(whole, pointer, value):
    """Return a copy in which one place, named by its JSON pointer, has another value."""
    changed = copy.deepcopy(whole)
    *path, last = pointer.removeprefix("/").split("/")
    here = changed
    for key in path:
        here = here[int(key)] if isinstance(here, list) else here[key]
    if isinstance(here, list):
        if int(last) == len(here):
            here.append(value)
        else:
            here[int(last)] = value
    elif value is GONE:
        del here[last]
    else:
        here[last] = value
    return changed


def read(whole):
    return read_batch(whole if isinstance(whole, str) else json.dumps(whole), now=NOW)


def judged(**parts):
    """Judge the file with these parts."""
    return judge_batch(read(document(**parts)))


def finding(limit_id="core", place="A", **parts):
    """Judge the file with these parts; return the one finding of a limit at a place."""
    found = [
        each
        for each in judged(**parts).findings
        if (each.limit_id, each.place) == (limit_id, place)
    ]
    assert len(found) == 1
    return found[0]


COOL = {
    "id": "core",
    "control_point": "cooling",
    "kind": "cool_through",
    "quantity": "core-temperature",
    "from": 135,
    "to": 70,
    "unit": "degF",
    "minutes": 120,
}


def cooled(*readings, **parts):
    return finding(
        limits=[COOL],
        windows=[window(0, 60), window(60, 300, "cooling")],
        readings=[
            reading(minute, value, step="heating" if minute <= 60 else "cooling")
            for minute, value in readings
        ],
        **parts,
    )


OUT = {
    "id": "core",
    "control_point": "exposure",
    "kind": "exposure_at_most",
    "quantity": "core-temperature",
    "unit": "degF",
    "bands": [
        {"above": 40, "up_to": 70, "minutes": 60},
        {"above": 70, "up_to": None, "minutes": 60},
    ],
    "steps": ["heating", "packing"],
    "check_every_min": 30,
}


def exposed(*readings, **parts):
    return finding(
        place=None,
        limits=[OUT],
        **{"windows": [window(0, 60)], "readings": list(readings)} | parts,
    )


def instruments(*checks, **more):
    return [{"id": "P1", "measures": "temperature", "checks": list(checks)} | more]
