"""Which limits judge which process at which control point, kept as a file to review.

After a change of the data run this file as a module to write the table again:
``python -m tests.house.test_bindings``.
"""

from itertools import product
from pathlib import Path

import pytest

from safety.controls import CONTROL_POINTS
from safety.facts import FACTS, Answer, holds
from safety.limits import all_published
from safety.limits.model import (
    Combination,
    ExposureLimit,
    StatedLimit,
    ValueLimit,
    WithinLimit,
)
from safety.processes.load import processes

TABLE = Path(__file__).with_name("bindings.txt")


def table():
    lines = ["# process, control point, limit, where and for whom it governs"]
    processes = FACTS["process"].values
    for process, control_point in product(processes, CONTROL_POINTS):
        for published in sorted(all_published(), key=lambda p: p.limit.id):
            applies, _ = holds(published.applies_when, {"process": process})
            if published.limit.control_point != control_point or applies is Answer.NO:
                continue
            governs = " ".join(published.programmes) or "comparison"
            lines.append(
                f"{process}  {control_point}  {published.limit.id}  "
                f"{published.source.jurisdiction}  {governs}"
            )
    return "\n".join(lines) + "\n"


def test_the_table_of_bindings_is_up_to_date():
    assert TABLE.read_text("utf-8") == table(), (
        "The data bind other limits than bindings.txt says. Look at what changed, then "
        "run: python -m tests.house.test_bindings"
    )


def plain(limit, step):
    """Yield the limits that a limit is made of, each with its step."""
    step = limit.step or step
    if isinstance(limit, Combination):
        for member in limit.limits:
            yield from plain(member, step)
    else:
        yield limit, step


def wanted(limit, step):
    """Yield what must be recorded for a limit: step, what."""
    if isinstance(limit, StatedLimit | WithinLimit):
        yield "", limit.what
    elif isinstance(limit, ExposureLimit):
        yield from ((each, limit.quantity) for each in limit.steps)
    elif isinstance(limit, ValueLimit):
        yield step, limit.quantity


@pytest.mark.parametrize("slug", processes())
def test_what_a_governing_limit_asks_can_be_recorded(slug):
    recorded, steps = set(), set()
    for step, control in processes()[slug].controls():
        steps.add(step.name)
        recorded |= {(step.name, quantity) for quantity in control.quantities}
        recorded |= {("", what) for what in (*control.states, *control.dates)}
    missing = {
        (published.limit.id, step, what)
        for published in all_published()
        if published.programmes
        and holds(published.applies_when, {"process": slug})[0] is not Answer.NO
        for limit, at in plain(published.limit, published.limit.control_point)
        for step, what in wanted(limit, at)
        if (step, what) not in recorded
        and not (isinstance(limit, ExposureLimit) and step not in steps)
    }
    assert missing == set()


if __name__ == "__main__":
    TABLE.write_text(table(), "utf-8")
