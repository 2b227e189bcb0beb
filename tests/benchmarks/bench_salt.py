"""Prints how good the estimates of salt are: every published trial against its range.

Run as ``python tests/benchmarks/bench_salt.py``; what it prints stands in DEVELOPERS.md,
and a test holds the two together.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from safety.science.salt_trials import foretold, left_out, scores

COLUMNS = ("trial", "low", "likely", "high", "measured", "holds")


def row(*cells: str) -> str:
    """Return a row of a table in Markdown."""
    return f"| {' | '.join(cells)} |"


def lines() -> list[str]:
    """Return the tables, line by line."""
    found = foretold()
    told = [
        row("kind", "trials", "studies", "median error", "range holds"),
        row(*["---"] * 5),
    ]
    told += [
        row(
            score.kind,
            str(score.trials),
            str(score.studies),
            f"{score.median_error_frac:.1%}",
            f"{score.held} of {score.trials} ({score.coverage:.0%})",
        )
        for score in scores(found)
    ]
    told += ["", row(*COLUMNS), row(*["---"] * len(COLUMNS))]
    told += [
        row(
            f"{each.trial}: {each.of} ({each.kind})",
            *(
                f"{value:.3g}"
                for value in (
                    each.estimate.low,
                    each.estimate.likely,
                    each.estimate.high,
                    each.measured,
                )
            ),
            "yes" if each.holds else "**no**",
        )
        for each in found
    ]
    told += ["", f"Not held against anything: {len(left_out())} trials."]
    return told


if __name__ == "__main__":
    print("\n".join(lines()))
