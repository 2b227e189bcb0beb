"""Which limits judge which process at which control point, kept as a file to review.

After a change of the data run this file as a module to write the table again:
``python -m tests.house.test_bindings``.
"""

from itertools import product
from pathlib import Path

from safety.controls import CONTROL_POINTS
from safety.facts import FACTS, Answer, holds
from safety.limits import all_published

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


if __name__ == "__main__":
    TABLE.write_text(table(), "utf-8")
