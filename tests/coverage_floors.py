"""Prints what share of each folder the tests run, and ends with an error where too little of it is.

    python -m tests.coverage_floors coverage.json

The file is the JSON report of coverage.py. A share counts lines and branches together, as coverage.py does.
"""

import json
import sys
from collections import defaultdict
from pathlib import Path
from typing import NamedTuple

LEAST_PERCENT = 95.0
HELD_FLOORS = {"calc", "services"}
HELD_APP = "clogging"


class Share(NamedTuple):
    """What there is to run in a folder, and what was run: lines and branches."""

    lines: int = 0
    lines_run: int = 0
    branches: int = 0
    branches_run: int = 0

    def plus(self, other):
        return Share(*(a + b for a, b in zip(self, other, strict=True)))

    @property
    def percent(self):
        whole = self.lines + self.branches
        return 100.0 * (self.lines_run + self.branches_run) / whole if whole else 100.0


def share_of(summary):
    return Share(
        lines=summary["num_statements"],
        lines_run=summary["covered_lines"],
        branches=summary["num_branches"],
        branches_run=summary["covered_branches"],
    )


def folder_of(name):
    """The app and its floor, such as "qa/calc"; the app alone for what lies at its root."""
    return "/".join(Path(name).parts[:-1][:2])


def shares_by_folder(report):
    """Shares of each app's folders, in order of name, from a JSON report."""
    shares = defaultdict(Share)
    for name, file in report["files"].items():
        shares[folder_of(name)] = shares[folder_of(name)].plus(share_of(file["summary"]))
    return dict(sorted(shares.items()))


def is_held(folder):
    """Whether the folder must reach the least share: formulas, the model, and whatever writes."""
    app, _, floor = folder.partition("/")
    return app == HELD_APP or floor in HELD_FLOORS


def too_low(shares):
    return [folder for folder, share in shares.items() if is_held(folder) and share.percent < LEAST_PERCENT]


def lines_of_table(shares):
    yield f"{'':28}{'lines':>8}{'branches':>10}{'run':>9}"
    for folder, share in shares.items():
        mark = f"  at least {LEAST_PERCENT:.0f} %" if is_held(folder) else ""
        yield f"{folder:28}{share.lines:8}{share.branches:10}{share.percent:7.1f} %{mark}"
    whole = Share()
    for share in shares.values():
        whole = whole.plus(share)
    yield f"{'all':28}{whole.lines:8}{whole.branches:10}{whole.percent:7.1f} %"


def main(path):
    """Print the table; a sentence naming the folders below the least share, or None."""
    shares = shares_by_folder(json.loads(Path(path).read_text()))
    print(*lines_of_table(shares), sep="\n")
    low = too_low(shares)
    if low:
        return f"Less than {LEAST_PERCENT:.0f} % is run by the tests: {', '.join(low)}."
    return None


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
