"""What a batch file is refused for: the place changed, and what is said of it."""

from safety.controls import CONTROL_POINTS, STEPS
from safety.facts import FURTHER_FACTS
from safety.limits.fields import LARGEST_EXPONENT
from safety.limits.parse import KINDS
from safety.quantities import QUANTITIES
from tests.safety.judge.documents import GONE, at

INSTANT = "an ISO 8601 instant with its offset, as 2026-05-02T11:00:00-07:00"
NAME = "a name (printable, not empty)"
FINITE = "a finite number"
MEASURABLE = "a number that something can measure"
LIST = "a list"
TRUTH = "true or false"
LATEST = f"an instant no later than judged_at, {at(2880)}"
METER = "a listed instrument that measures core temperature"


def keys(*names):
    return ", ".join(names)


TOP = keys(
    "format", "judged_at", "product", "batch", "instruments", "windows", "readings",
    "traces", "statements", "dates", "limits",
)  # fmt: skip
READING = keys(
    "step", "quantity", "place", "at", "value", "unit", "instrument", "entered_at"
)
STEP_NAMES = keys(*STEPS)

# Pointer changed, new value, and what is said: pointer (None: the same), found, allowed.
REFUSED = [
    # The document.
    ("/format", GONE, None, "nothing", "brinewright.batch/1"),
    ("/format", "brinewright.batch/2", None, "'brinewright.batch/2'", "brinewright.batch/1"),
    ("/format", ["brinewright.batch/1"], None, "a list of 1", "brinewright.batch/1"),
    ("/judge", 1, None, "unknown key 'judge'", TOP),
    ("/judged_at", None, None, "null", INSTANT),
    ("/judged_at", at(80), "/instruments/0/checks/1/at", at(1440), f"an instant no later than judged_at, {at(80)}"),
    ("/batch", [], None, "a list of 0", "an object"),
    ("/batch/code", "", None, "''", NAME),
    ("/batch/number", 1, None, "unknown key 'number'", "code"),
    *[
        (f"/{part}", wrong, None, found, LIST)
        for part in ("instruments", "windows", "readings", "traces", "statements", "dates")
        for wrong, found in ((None, "null"), ({}, "an object"), ("x", "'x'"))
    ],
    ("/limits", None, None, "null", "a list of limits"),
    *[
        (f"/{part}/0", wrong, None, found, "an object")
        for part in ("instruments", "windows", "readings", "traces", "limits")
        for wrong, found in ((None, "null"), ([1], "a list of 1"), (3.5, "3.5"))
    ],
    # The product.
    ("/product", None, None, "null", "an object"),
    ("/product/name", " ", None, "' '", NAME),
    ("/product/maker", "x", None, "unknown key 'maker'", keys(
        "name", "food", "process", "packaging", "storage", "programme", "jurisdiction",
        "facts",
    )),
    ("/product/process", "boiled", None, "'boiled'", "hot-smoked, cold-smoked, dried, pickled, raw"),
    ("/product/process", None, None, "null", "hot-smoked, cold-smoked, dried, pickled, raw"),
    ("/product/packaging", ["air"], None, "a list of 1", "air, reduced-oxygen"),
    ("/product/storage", "warm", None, "'warm'", "refrigerated, frozen, ambient"),
    ("/product/programme", "none", None, "'none'", "seafood-processor, retail, meat-inspected, home"),
    ("/product/jurisdiction", "us", None, "'us'", "text like [A-Z]{2}(-[A-Z0-9]{1,3})?"),
    ("/product/food", "Coho salmon", None, "'Coho salmon'", "text like [a-z0-9][a-z0-9-]*"),
    ("/product/facts", "no", None, "'no'", "an object"),
    ("/product/facts/nitrite-added", False, None, "false", "yes, no"),
    ("/product/facts/nitrite-added", "maybe", None, "'maybe'", "yes, no"),
    ("/product/facts/process", "raw", None, "unknown key 'process'", keys(*FURTHER_FACTS)),
    # Instruments and their checks.
    ("/instruments/0/maker", "x", None, "unknown key 'maker'", "id, measures, tolerance, check_every_days, checks"),
    ("/instruments/0/id", GONE, None, "nothing", "a name"),
    ("/instruments/0/id", ["P1"], None, "a list of 1", NAME),
    ("/instruments/0/id", "P\n1", None, r"'P\n1'", NAME),
    ("/instruments/1/id", "P1", None, "'P1' a second time", "each once"),
    ("/instruments/0/measures", "weight", None, "'weight'", "temperature, ph, water-activity"),
    ("/instruments/0/measures", "ph", "/instruments/0/tolerance/unit", "'degF'", "1"),
    ("/instruments/0/tolerance", None, None, "null", "an object"),
    ("/instruments/0/tolerance/value", 2.001, "/instruments/0/tolerance", "2.001 degF", "at most 2 degF"),
    ("/instruments/0/tolerance/unit", "degC", "/instruments/0/tolerance", "2 degC", "at most 2 degF"),
    ("/instruments/0/tolerance/value", -1, None, "-1", "a number of at least 0"),
    ("/instruments/0/tolerance/unit", "1", None, "'1'", "degF, degC"),
    ("/instruments/0/tolerance/by", 1, None, "unknown key 'by'", "value, unit"),
    ("/instruments/0/check_every_days", -1, None, "-1", "a number of at least 0"),
    ("/instruments/0/check_every_days", None, None, "null", FINITE),
    ("/instruments/0/checks", {}, None, "an object", LIST),
    ("/instruments/0/checks/0", 1, None, "1", "an object"),
    ("/instruments/0/checks/0/at", GONE, None, "nothing", "an instant with its offset"),
    ("/instruments/0/checks/0/at", at(2881), None, at(2881), LATEST),
    ("/instruments/0/checks/0/method", "guess", None, "'guess'", "ice-point, boiling-point, reference"),
    ("/instruments/0/checks/0/shown", GONE, None, "nothing", "a value and its unit"),
    ("/instruments/0/checks/0/true", 32, None, "32", "an object"),
    ("/instruments/0/checks/0/true/unit", "percent", None, "'percent'", "degF, degC"),
    ("/instruments/0/checks/0/shown/value", "32", None, "'32'", FINITE),
    ("/instruments/0/checks/0/adjusted", 1, None, "1", TRUTH),
    ("/instruments/0/checks/0/by", "x", None, "unknown key 'by'", "at, method, shown, true, adjusted"),
    # Windows.
    ("/windows/0/step", "baking", None, "'baking'", STEP_NAMES),
    ("/windows/0/step", "exposure", None, "'exposure'", STEP_NAMES),
    ("/windows/0/step", [], None, "a list of 0", STEP_NAMES),
    ("/windows/1/step", "heating", None, "'heating' a second time", "each once"),
    ("/windows/0/start", GONE, None, "nothing", "an instant with its offset"),
    ("/windows/0/start", at(186), "/windows/0/end", f"{at(185)}, before the start", f"an instant from {at(186)} on, or null"),
    ("/windows/0/start", at(2881), None, at(2881), LATEST),
    ("/windows/0/end", at(2881), None, at(2881), LATEST),
    ("/windows/0/place", "A", None, "unknown key 'place'", "step, start, end"),
    # Readings.
    *[
        (f"/readings/0/{key}", GONE, None, "nothing", allowed)
        for key, allowed in (
            ("step", STEP_NAMES),
            ("quantity", keys(*QUANTITIES)),
            ("at", "an instant with its offset"),
            ("value", FINITE),
            ("unit", "degF, degC"),
        )
    ],
    ("/readings/0/note", "x", None, "unknown key 'note'", READING),
    ("/readings/0/step", "labelling", None, "'labelling'", STEP_NAMES),
    ("/readings/0/quantity", "temperature", None, "'temperature'", keys(*QUANTITIES)),
    ("/readings/0/unit", "K", None, "'K'", "degF, degC"),
    ("/readings/0/unit", "percent", None, "'percent'", "degF, degC"),
    ("/readings/4/unit", "1", None, "'1'", "percent"),
    ("/readings/0/place", "", None, "''", NAME),
    ("/readings/0/place", 1, None, "1", NAME),
    ("/readings/0/place", "\ud800", None, r"'\ud800'", NAME),
    ("/readings/0/instrument", "P2", None, "'P2'", METER),
    ("/readings/0/instrument", "M1", None, "'M1'", METER),
    ("/readings/0/instrument", ["P1"], None, "a list of 1", NAME),
    ("/readings/4/instrument", "P9", None, "'P9'", "a listed instrument that measures salt"),
    ("/readings/0/at", at(2881), None, at(2881), LATEST),
    ("/readings/0/entered_at", "soon", None, "'soon'", INSTANT),
    ("/readings/0/value", True, None, "true", FINITE),
    ("/readings/0/value", None, None, "null", FINITE),
    ("/readings/0/value", "147", None, "'147'", FINITE),
    ("/readings/0/value", {}, None, "an object", FINITE),
    ("/readings/0/value", float("nan"), None, "NaN", FINITE),
    ("/readings/0/value", float("inf"), None, "Infinity", FINITE),
    ("/readings/0/value", 10 ** (LARGEST_EXPONENT + 1), None, "1" + 59 * "0" + "…", MEASURABLE),
    ("/readings/5/value", -3.5, None, "-3.5", "a number of at least 0"),
    # Traces.
    ("/traces/0/unit", "mm", None, "'mm'", "degF, degC"),
    ("/traces/0/values", GONE, None, "nothing", "a list of numbers"),
    ("/traces/0/values", 1, None, "1", "a list of numbers"),
    ("/traces/0/values/1", None, None, "null", FINITE),
    ("/traces/0/values/2", float("-inf"), None, "-Infinity", FINITE),
    ("/traces/0/values/2", False, None, "false", FINITE),
    ("/traces/0/values/0", 10**18, "/traces/0/values", "values of too many digits", "what a logger can store"),
    ("/traces/0/start", GONE, None, "nothing", "an instant with its offset"),
    ("/traces/0/every_s", GONE, None, "nothing", FINITE),
    *[
        ("/traces/0/every_s", wrong, None, found, "more than 0, to the microsecond at most")
        for wrong, found in ((0, "0"), (-1, "-1"), (1e-7, "1E-7"), (0.0000015, "0.0000015"))
    ],
    ("/traces/0/every_s", True, None, "true", FINITE),
    ("/traces/0/every_s", 10**9, "/traces/0/values", "3 values, the last of them after judged_at", f"instants up to {at(2880)}"),
    ("/traces/0/at", [at(200)], "/traces/0/start", "both", "at, or start and every_s"),
    ("/traces/1/every_s", 60, None, "both", "at, or start and every_s"),
    ("/traces/1/at", [at(200)], None, "a list of 1", "a list of 2 instants"),
    ("/traces/1/at", at(200), None, repr(at(200)), "a list of 2 instants"),
    ("/traces/1/at/1", at(2881), None, at(2881), LATEST),
    ("/traces/1/at/0", 7, None, "7", INSTANT),
    ("/traces/0/instrument", "M1", None, "'M1'", METER),
    # Statements and dates.
    ("/statements/0/complies", GONE, None, "nothing", TRUTH),
    ("/statements/0/complies", "yes", None, "'yes'", TRUTH),
    ("/statements/0/complies", 1, None, "1", TRUTH),
    ("/statements/0/what", None, None, "null", NAME),
    ("/statements/0/by", "x", None, "unknown key 'by'", "what, complies"),
    ("/statements/1", {"what": "label-keep-refrigerated", "complies": False}, "/statements/1/what", "'label-keep-refrigerated' a second time", "each once"),
    ("/dates/0/at", "2026-05-16", None, "'2026-05-16'", INSTANT),
    ("/dates/0/on", at(0), None, "unknown key 'on'", "what, at"),
    ("/dates/1", {"what": "use-by", "at": at(0)}, "/dates/1/what", "'use-by' a second time", "each once"),
    # Limits: what all kinds have.
    ("/limits/0/kind", GONE, None, "nothing", keys(*KINDS)),
    ("/limits/0/kind", "exactly", None, "'exactly'", keys(*KINDS)),
    ("/limits/0/kind", [], None, "a list of 0", keys(*KINDS)),
    ("/limits/0/id", GONE, None, "nothing", "a name"),
    ("/limits/0/id", "core", "/limits/1/id", "'core'", "an id not used before"),
    ("/limits/6/limits/0/id", "core", None, "'core'", "an id not used before"),
    ("/limits/6/limits/1/limits/0/id", "salt", None, "'salt'", "an id not used before"),
    ("/limits/0/id", "instrument-check", None, "'instrument-check'", "an id not used before"),
    ("/limits/0/control_point", GONE, None, "nothing", keys(*CONTROL_POINTS)),
    ("/limits/0/control_point", "oven", None, "'oven'", keys(*CONTROL_POINTS)),
    ("/limits/0/control_point", "record-review", "/limits/0/step", "nothing", f"one of {STEP_NAMES}, since the control point is no step"),
    ("/limits/6/control_point", "record-review", "/limits/6/limits/0/step", "nothing", f"one of {STEP_NAMES}, since the control point is no step"),
    ("/limits/0/step", "oven", None, "'oven'", STEP_NAMES),
    ("/limits/0/step", None, None, "null", STEP_NAMES),
    # Limits on a value.
    ("/limits/0/minutes", 1, None, "unknown key 'minutes'", "id, control_point, kind, step, quantity, value, unit, strict, printed_also"),
    ("/limits/0/value", GONE, None, "nothing", "value, which at_least needs"),
    ("/limits/0/unit", GONE, None, "nothing", "unit, which at_least needs"),
    ("/limits/0/quantity", GONE, None, "nothing", "quantity, which at_least needs"),
    ("/limits/0/quantity", "heat", None, "'heat'", keys(*QUANTITIES)),
    ("/limits/0/unit", "lb", None, "'lb'", "degF, degC"),
    ("/limits/0/value", float("nan"), None, "NaN", FINITE),
    ("/limits/0/strict", "yes", None, "'yes'", TRUTH),
    ("/limits/0/strict", None, None, "null", TRUTH),
    ("/limits/0/printed_also", 60, None, "60", "an object"),
    ("/limits/0/printed_also/unit", "degF", None, "'degF'", "degC"),
    ("/limits/0/printed_also/unit", GONE, None, "nothing", "degC"),
    ("/limits/0/printed_also/value", GONE, None, "nothing", FINITE),
    ("/limits/0/printed_also/to", 1, None, "unknown key 'to'", "value, unit"),
    ("/limits/1/minutes", GONE, None, "nothing", "minutes, which dwell_at_least needs"),
    ("/limits/1/minutes", -1, None, "-1", "a number of at least 0"),
    ("/limits/1/check_every_min", GONE, None, "nothing", "check_every_min, which dwell_at_least needs"),
    ("/limits/1/check_every_min", -0.5, None, "-0.5", "a number of at least 0"),
    ("/limits/2/excursion_min", -1, None, "-1", "a number of at least 0"),
    ("/limits/2/excursion_min", None, None, "null", FINITE),
    ("/limits/2/check_every_min", GONE, None, "nothing", "check_every_min, which stay_at_most needs"),
    # Cooling.
    ("/limits/3/to", 135, None, "135", "less than 135"),
    ("/limits/3/from", 69.5, "/limits/3/to", "70", "less than 69.5"),
    ("/limits/3/minutes", GONE, None, "nothing", "minutes, which cool_through needs"),
    ("/limits/3/printed_also/to", 57.2, None, "57.2", "less than 57.2"),
    ("/limits/3/printed_also/value", 1, None, "unknown key 'value'", "from, to, unit"),
    ("/limits/3/steps", [], None, "a list of 0", "a list with something in it"),
    ("/limits/3/steps", "cooling", None, "'cooling'", "a list with something in it"),
    ("/limits/3/steps/1", "heating", None, "'heating'", f"each once, of {STEP_NAMES}"),
    ("/limits/3/steps/0", ["heating"], None, "a list of 1", f"each once, of {STEP_NAMES}"),
    ("/limits/3/check_every_min", 5, None, "unknown key 'check_every_min'", "id, control_point, kind, step, quantity, from, to, unit, minutes, steps, strict, printed_also"),
    # Exposure.
    ("/limits/4/steps", GONE, None, "nothing", "steps, which exposure_at_most needs"),
    ("/limits/4/strict", True, None, "unknown key 'strict'", "id, control_point, kind, step, quantity, unit, bands, steps, check_every_min"),
    ("/limits/4/bands", [], None, "a list of 0", "a list with something in it"),
    ("/limits/4/bands/0", 40, None, "40", "an object"),
    ("/limits/4/bands/0/minutes", 0, None, "0", "more than 0"),
    ("/limits/4/bands/0/minutes", -1, None, "-1", "more than 0"),
    ("/limits/4/bands/0/up_to", 40, None, "40", "more than 40"),
    ("/limits/4/bands/0/up_to", GONE, None, "nothing", "a number, or null for no upper end"),
    ("/limits/4/bands/0/above", GONE, None, "nothing", FINITE),
    ("/limits/4/bands/0/from", 1, None, "unknown key 'from'", "above, up_to, minutes"),
    # Dates, statements, combinations.
    ("/limits/5/days", -1, None, "-1", "a number of at least 0"),
    ("/limits/5/days", GONE, None, "nothing", "days, which within needs"),
    ("/limits/5/of", "baking.end", None, "'baking.end'", f"a date's name, or .start or .end of {STEP_NAMES}"),
    ("/limits/5/of", "", None, "''", NAME),
    ("/limits/5/what", GONE, None, "nothing", "what, which within needs"),
    ("/limits/5/strict", False, None, "unknown key 'strict'", "id, control_point, kind, step, what, of, days"),
    ("/limits/6/limits", [], None, "a list of 0", "a list with something in it"),
    ("/limits/6/limits", GONE, None, "nothing", "limits, which any_of needs"),
    ("/limits/6/limits/0", "core", None, "'core'", "an object"),
    ("/limits/6/limits/0/control_point", "packing", None, "unknown key 'control_point'", "id, kind, step, quantity, value, unit, strict, printed_also"),
    ("/limits/6/limits/1/limits/0/what", GONE, None, "nothing", "what, which stated needs"),
]  # fmt: skip
