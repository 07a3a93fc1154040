"""The catalogues of sentences: whole, fitting, of this day; and no sentence that the catalogues cannot know of."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import polib
import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "scripts"))

import messages  # noqa: E402

#: The names that ``xgettext`` knows; a sentence handed to another one would be in no catalogue.
KNOWN = {"gettext", "gettext_lazy", "ngettext", "ngettext_lazy", "pgettext", "pgettext_lazy", "npgettext"}
IMPORTED = re.compile(
    r"^from django\.utils\.translation import (?:\(([^)]*)\)|(.+))$",
    re.M,
)
#: Said among ourselves; never on a page.  (A rule or a bottle may well "hold" something: that is plain English.)
INTERNAL = re.compile(r"\b(lanes?|feeds?|fills?|a hold|the hold|holds of)\b", re.I)


def aliases(source: str) -> list[str]:
    """Names under which a module calls gettext that the gatherer does not know."""
    found = []
    for one, many in IMPORTED.findall(source):
        for part in (one or many).split(","):
            name, _as, alias = part.strip().partition(" as ")
            if name in KNOWN and alias and alias != "_":
                found.append(alias)
    return found


def test_an_alias_that_the_gatherer_does_not_know_is_found():
    assert aliases("from django.utils.translation import gettext as _now\n") == ["_now"]
    assert aliases("from django.utils.translation import gettext as _, ngettext\n") == []


def test_no_module_calls_gettext_by_a_name_the_gatherer_does_not_know():
    wrong = {
        str(path.relative_to(ROOT)): found
        for path in (ROOT / "studiodesk").rglob("*.py")
        if (found := aliases(path.read_text(encoding="utf-8")))
    }
    assert wrong == {}


def entry(msgid: str, msgstr: str, **more: object) -> polib.POEntry:
    return polib.POEntry(msgid=msgid, msgstr=msgstr, **more)


@pytest.mark.parametrize(
    ("one", "fault"),
    [
        (entry("Free", ""), "is not translated"),
        (entry("Free", "Frei", flags=["fuzzy"]), "is marked as doubtful"),
        (entry("%(name)s is free", "ist frei"), "has other places: %(name)s"),
        (entry("%(name)s is free", "%(nam)s ist frei"), "has other places: %(nam)s, %(name)s"),
        (entry("<b>Free</b>", "Frei"), "has other tags"),
        (entry("Free", "Frei "), "begins or ends with a blank"),
        (
            polib.POEntry(msgid="one", msgid_plural="%(n)s sheets", msgstr_plural={0: "ein Blatt", 1: "viele Blätter"}),
            "has other places: %(n)s",
        ),
    ],
)
def test_a_translation_that_does_not_fit_is_found(one, fault):
    assert list(messages.faults_of(one)) == [fault]


def test_a_translation_that_fits_is_not_complained_of():
    plural = polib.POEntry(
        msgid="%(n)s sheet", msgid_plural="%(n)s sheets", msgstr_plural={0: "ein Blatt", 1: "%(n)s Blatt"}
    )
    assert list(messages.faults_of(plural)) == []
    assert list(messages.faults_of(entry("<b>%(a)s</b>", "<b>%(a)s</b>"))) == []


def test_no_sentence_uses_a_word_that_is_said_among_ourselves():
    """ "Fill in" is plain English, and a feed has a width in the trade: what has such a word is read here once."""
    reviewed = {line for line in REVIEWED.splitlines() if line}
    found = {
        entry.msgid
        for entry in polib.pofile(str(messages.catalogue("de")), wrapwidth=0)
        if not entry.obsolete and INTERNAL.search(re.sub(r"%\(\w+\)[ds]", "", entry.msgid))
    }
    assert sorted(found - reviewed) == []
    assert sorted(reviewed - found) == [], "read once, and said no more"


REVIEWED = """
Fill in and book
Fill in both, or neither.
This database already holds a studio; the demo fills an empty one only.
%(sheet)s is %(edge)s mm on its narrow edge, and the feed of %(name)s is %(feed)s mm wide.
"""
