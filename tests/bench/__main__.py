"""``make bench`` or ``python -m tests.bench [PART …]``: one table of what is quick and what is not.

The ratio is to a floor in the same run (for the forecast a Monte-Carlo of 20,000 paths of the same posterior, drawn
with numpy; for booking the bare driver): it says more than milliseconds of a machine that somebody else shares.  Always
exits with 0: nothing here fails a run.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from .scratch import OSTERMILL, studio_from
from .table import head

PARTS = ("forecast", "special", "booking", "pages", "paint")
ROUNDS, MOST = 9, 100_000


def main(arguments: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="make bench", description="How long things take beside a floor of the run.")
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}; all without a name")
    parser.add_argument("--rounds", type=int, default=ROUNDS, help=f"({ROUNDS})")
    parser.add_argument("--most", type=int, default=MOST, metavar="HOLDS", help=f"up to 1000000 ({MOST})")
    asked = parser.parse_args(arguments)
    if unknown := set(asked.parts) - set(PARTS):
        parser.error(f"no such part: {', '.join(sorted(unknown))}. There are: {', '.join(PARTS)}.")
    parts = asked.parts or PARTS
    print(f"medians of {asked.rounds} rounds (in brackets the quickest and the slowest)\n")
    head()
    with studio_from(OSTERMILL):  # it sets Django up too
        from . import booking, forecast, pages, paint

        if "forecast" in parts:
            forecast.forecast(asked.rounds)
        if "special" in parts:
            forecast.special(asked.rounds)
        if "booking" in parts:
            booking.booking(asked.rounds, tuple(size for size in booking.SIZES if size <= asked.most))
        if "pages" in parts:
            pages.pages()
        if "paint" in parts:
            paint.paint()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
