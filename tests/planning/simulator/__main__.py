"""``python -m tests.planning.simulator FOLDER --seed N --weeks 16``: a harder quarter as files to load."""

import argparse
from collections import Counter
from datetime import date
from pathlib import Path

from .files import write
from .quarter import FIRST, WEEKS, harder_quarter


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.planning.simulator", description=__doc__)
    parser.add_argument("folder", type=Path, help="where the files go; it is made if it is missing")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--weeks", type=int, default=WEEKS)
    parser.add_argument("--first", type=date.fromisoformat, default=FIRST, help="the quarter's first day")
    given = parser.parse_args()
    quarter = harder_quarter(given.seed, given.weeks, given.first)
    write(quarter, given.folder)
    print(f"{given.folder}: {quarter.studio.first} to {quarter.until}, {len(quarter.passages)} limits reached")
    for (processor, bath, limit), times in sorted(
        Counter((p.processor, p.bath, p.limit) for p in quarter.passages).items()
    ):
        print(f"  {processor} {bath}: {limit} {times} times")


if __name__ == "__main__":
    main()
