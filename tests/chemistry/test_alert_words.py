"""What alerts say: every kind with its words, its place and a way that leads somewhere."""

from __future__ import annotations

import pytest

from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Alert
from studiodesk.chemistry.rules import alerts as rules
from studiodesk.chemistry.words import alerts as words

# ---- words --------------------------------------------------------------------------------------------------------


def test_every_kind_has_its_words_its_place_and_a_way_that_leads_somewhere(house, now):
    assert set(words.KINDS) == set(Alert.Kind.values) == set(rules.IN_ORDER)
    assert len(rules.IN_ORDER) == len(set(rules.IN_ORDER))
    bath, processor = house.baths["P-RC", "fix"], house.processors["P-RC"]
    for kind in Alert.Kind.values:
        alert = actions.raise_alert(kind=kind, key=kind, bath=bath, processor=processor, now=now)
        line = queries.alert_line(alert.pk, now)
        assert line.what and line.do.endswith(".") and str(line.link) and "%(" not in line.what + line.do
        assert line.url.startswith("/") and line.detail == ""
    order = [one.kind for one in queries.open_alerts(now).now]
    assert order == list(rules.IN_ORDER)


@pytest.mark.parametrize(
    ("kind", "limit", "facts", "said"),
    [
        ("at its end", "silver", {}, "its silver limit is passed"),
        ("out of tolerance", "", {"value": "39.2", "unit": "°C", "at_least": "34", "at_most": "36"},
         "read: 39.2 °C, it should be 34 to 36 °C"),
        ("out of tolerance", "", {"value": "39.2", "unit": "°C", "at_least": None}, "read: 39.2 °C"),
        ("out of tolerance", "", {"value": "6", "at_least": "7", "at_most": "8"}, "read: 6, it should be 7 to 8"),
        ("strip past action", "", {"rule": "LD R", "off": "-0.090"}, "LD R −0.09"),
        ("second strip", "", {"rule": "LD spread", "off": "0.14"}, "LD spread +0.14"),
        ("processor held", "", {"rule": "LD R"}, "LD R"),
        ("evaporation", "", {"times": "3.0"}, "3 times as much as usual"),
        ("unlogged", "", {"ml": "2000", "percent": 100}, "2,000 mL (100 %)"),
        ("unlogged", "", {"ml": "120", "percent": 8}, "120 mL (8 %)"),
        ("unlogged", "", {"ml": "120"}, "120 mL"),
        ("reorder", "", {"left": "500", "unit": "mL"}, "500 mL left"),
        ("job overdue", "", {"day": "2026-11-23"}, "it was due on Monday 23 November"),
        ("permit ends", "", {"number": "W-12", "day": "2026-12-31"}, "number W-12, on Thursday 31 December"),
        ("expired", "", {"day": "2026-11-30"}, "on Monday 30 November"),
        ("expired", "", {"day": "soon"}, ""),
        ("waste full", "", {"percent": 92}, "92 % full"),
        ("pump off", "", {"percent": 7}, "7 % off"),
        ("drift", "", {"percent": 7}, ""),
    ],
)  # fmt: skip
def test_what_is_known_beside_is_said(kind, limit, facts, said):
    assert words.detail_words(kind, limit, facts) == said
