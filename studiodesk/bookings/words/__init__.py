"""What is said when something of a booking cannot be, and the way on; by noun."""

from . import booking, calendar, cancelling, door, groups, needs, outages, own, rule_sentences, rules, series, waiting

__all__ = [
    "booking",
    "calendar",
    "cancelling",
    "door",
    "groups",
    "needs",
    "outages",
    "own",
    "rule_sentences",
    "rules",
    "series",
    "waiting",
]
