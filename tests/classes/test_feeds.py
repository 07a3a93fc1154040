"""What is on, read by other people's programs: three calendar libraries, a feed parser's worth of XML, JSON-LD."""

from __future__ import annotations

import io
import json
import re
import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from html import unescape

import icalendar
import ics
import pytest
import time_machine
import vobject
from django.test import Client

from studiodesk.classes import actions
from tests import makers

from .making import at, course, outline

ATOM = "{http://www.w3.org/2005/Atom}"
HARD = "Prints & <b>“drying”</b>,\nline two; \\ backslash 印画"


@pytest.fixture
def on(house, now):
    """One class, one course of two evenings with hard words, one called off, one private."""
    with time_machine.travel(now, tick=False):
        staff = makers.member("Staff", is_staff=True)
        plain = course(house, now)
        two = course(
            house,
            now,
            of=outline(house, now, code="two", name="Two evenings", meetings=2, summary=HARD),
            spans=[at(now, 16), at(now, 23)],
        )
        off = course(house, now, days=18, of=outline(house, now, code="off", name="Off"))
        actions.call_off_course(course=off, because="No water", now=now, by=staff)
        secret = course(house, now, days=19, of=outline(house, now, code="s", name="Secret"), is_private=True)
        yield {"plain": plain, "two": two, "off": off, "secret": secret}


def get(path: str):
    answer = Client().get(path)
    assert answer.status_code == 200
    return answer


def seen_by_icalendar(text: bytes) -> set[tuple[str, datetime, datetime, str, str]]:
    return {
        (str(e["SUMMARY"]), e["DTSTART"].dt, e["DTEND"].dt, str(e["STATUS"]), str(e["DESCRIPTION"]).split("\n\n")[0])
        for e in icalendar.Calendar.from_ical(text).walk("VEVENT")
    }


def seen_by_vobject(text: bytes) -> set[tuple[str, datetime, datetime, str, str]]:
    return {
        (
            e.summary.value,
            e.dtstart.value.astimezone(UTC),
            e.dtend.value.astimezone(UTC),
            e.status.value,
            e.description.value.split("\n\n")[0],
        )
        for e in vobject.readOne(io.StringIO(text.decode())).vevent_list
    }


def seen_by_ics(text: bytes) -> set[tuple[str, datetime, datetime, str, str]]:
    return {
        (
            e.name,
            e.begin.datetime.astimezone(UTC),
            e.end.datetime.astimezone(UTC),
            e.status,
            e.description.split("\n\n")[0],
        )
        for e in ics.Calendar(text.decode()).events
    }


def test_the_calendar_reads_the_same_in_three_libraries(on, now) -> None:
    text = get("/classes/calendar.ics").content
    first = seen_by_icalendar(text)
    assert first == seen_by_vobject(text) == seen_by_ics(text)
    assert {(name, start, status) for name, start, _end, status, _words in first} == {
        ("First prints", at(now, 14).starts, "CONFIRMED"),
        ("Two evenings", at(now, 16).starts, "CONFIRMED"),
        ("Two evenings", at(now, 23).starts, "CONFIRMED"),
        ("Off", at(now, 18).starts, "CANCELLED"),
    }
    assert any(words == HARD for *_rest, words in first)


def test_a_calendar_that_has_it_is_told_so_until_something_changes(on, now) -> None:
    first = get("/classes/calendar.ics")
    again = Client().get("/classes/calendar.ics", headers={"If-None-Match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    actions.move_course(course=on["plain"], spans=[at(now, 24)], now=now, by=makers.member("S", is_staff=True))
    changed = Client().get("/classes/calendar.ics", headers={"If-None-Match": first["ETag"]})
    assert changed.status_code == 200
    uid = lambda text: {  # noqa: E731
        str(e["UID"]): (e["DTSTART"].dt, int(e["SEQUENCE"])) for e in icalendar.Calendar.from_ical(text).walk("VEVENT")
    }
    before, after = uid(first.content), uid(changed.content)
    assert before.keys() == after.keys()
    moved = [key for key in before if before[key] != after[key]]
    assert [after[key] for key in moved] == [(at(now, 24).starts, 1)]


def test_atom_has_what_rfc_4287_asks_of_a_feed_and_its_entries(on, now) -> None:
    answer = get("/classes/atom.xml")
    assert answer["Content-Type"].startswith("application/atom+xml")
    root = ET.fromstring(answer.content)  # noqa: S314
    assert root.tag == f"{ATOM}feed"
    for part in ("id", "title", "updated"):
        assert root.findtext(f"{ATOM}{part}")
    assert root.find(f"{ATOM}link[@rel='self']") is not None
    entries = root.findall(f"{ATOM}entry")
    assert [one.findtext(f"{ATOM}title") for one in entries] == ["First prints", "Two evenings", "Called off: Off"]
    for one in entries:
        assert datetime.fromisoformat(one.findtext(f"{ATOM}updated")).utcoffset() is not None
        assert one.findtext(f"{ATOM}author/{ATOM}name")
    ids = [one.findtext(f"{ATOM}id") for one in entries]
    assert len(set(ids)) == 3 and all(one.startswith("urn:") for one in ids)
    summary = entries[1].find(f"{ATOM}summary")
    assert summary.get("type") == "html"
    assert HARD in text_of(summary.text), "what says that it is HTML is HTML"


def text_of(html: str) -> str:
    """What a reader of HTML sees: paragraphs and line breaks, no marks."""
    broken = re.sub(r"<br ?/?>\n?", "\n", html)
    return unescape(re.sub(r"</?p>", "", broken))


def test_characters_that_xml_cannot_hold_take_no_feed_down(house, now) -> None:
    with time_machine.travel(now, tick=False):
        words = "One\u000btwo\u0001 \ufffe three\nfour"
        tutor = makers.member("Tu\u000btor", is_tutor=True)
        course(house, now, of=outline(house, now, code="c", name="Na\u000cme", summary=words), tutor=tutor)
        atom = ET.fromstring(get("/classes/atom.xml").content)  # noqa: S314
        rss = ET.fromstring(get("/classes/rss.xml").content)  # noqa: S314
        get("/classes/calendar.ics")
    assert "Onetwo  three\nfour" in text_of(atom.findtext(f"{ATOM}entry/{ATOM}summary"))
    assert atom.findtext(f"{ATOM}entry/{ATOM}title") == rss.findtext("channel/item/title") == "Name"
    assert "Onetwo" in rss.findtext("channel/item/description")


def test_rss_has_what_the_2_0_specification_asks_of_a_channel_and_its_items(on, now) -> None:
    root = ET.fromstring(get("/classes/rss.xml").content)  # noqa: S314
    assert (root.tag, root.get("version")) == ("rss", "2.0")
    channel = root.find("channel")
    assert all(channel.findtext(part) for part in ("title", "link", "description"))
    items = channel.findall("item")
    assert len(items) == 3
    for item in items:
        assert item.find("guid").get("isPermaLink") == "false"
        assert parsedate_to_datetime(item.findtext("pubDate")) == now
        assert item.findtext("link").startswith("http")


def structured(path: str) -> dict:
    found = re.search(r'<script type="application/ld\+json">(.*?)</script>', get(path).content.decode(), re.S)
    return json.loads(found[1])


def test_a_page_says_what_it_is_in_the_open_vocabulary_for_events(on, now) -> None:
    """schema.org: Event wants name, startDate and location; dates are ISO 8601 with their offset."""
    event = structured(f"/classes/{on['two'].reference}/")
    assert (event["@context"], event["@type"], event["name"]) == (
        "https://schema.org",
        "EducationEvent",
        "Two evenings",
    )
    assert datetime.fromisoformat(event["startDate"]) == at(now, 16).starts
    assert event["startDate"].endswith("+01:00")
    assert datetime.fromisoformat(event["endDate"]) == at(now, 23).ends
    assert len(event["subEvent"]) == 2 and event["location"]["@type"] == "Place"
    assert (event["offers"]["price"], event["offers"]["priceCurrency"]) == ("60.00", "EUR")
    assert event["description"] == HARD
    assert structured(f"/classes/{on['off'].reference}/")["eventStatus"] == "https://schema.org/EventCancelled"


def test_words_cannot_break_out_of_the_page(house, now) -> None:
    with time_machine.travel(now, tick=False):
        evil = outline(house, now, code="e", name="</script><script>alert(1)</script>", summary="<img src=x onerror=1>")
        made = course(house, now, of=evil)
        page = get(f"/classes/{made.reference}/").content.decode()
        assert "<script>alert" not in page and "<img src=x" not in page
        assert structured(f"/classes/{made.reference}/")["name"] == evil.name


def test_what_is_private_stands_in_nothing_that_is_public(on) -> None:
    for path in ("/classes/", "/classes/atom.xml", "/classes/rss.xml", "/classes/calendar.ics"):
        assert "Secret" not in get(path).content.decode()
    assert Client().get(f"/classes/{on['secret'].reference}/").status_code == 404
    assert Client().get(f"/classes/{on['secret'].reference}/calendar.ics").status_code == 404


def test_what_is_long_over_leaves_the_feeds(on, now) -> None:
    later = now + timedelta(days=14 + 28, hours=3)
    with time_machine.travel(later, tick=False):
        text = get("/classes/calendar.ics").content.decode()
    assert "SUMMARY:First prints" not in text and "SUMMARY:Two evenings" in text
