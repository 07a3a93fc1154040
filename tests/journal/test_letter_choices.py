"""Which letters somebody wants, which need not be said any more, several told at once, and a letter in two dresses."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

import studiodesk
from studiodesk.journal import actions, queries, rules
from studiodesk.journal.actions import Attachment, Letter, Telling, send_due_notices
from studiodesk.journal.models import Entry, Notice, NoticeChoice
from studiodesk.journal.words import TOPIC_WORDS
from studiodesk.people import actions as people
from tests import makers

HOUR = timedelta(hours=1)


def plain(notice, again):
    return Letter(notice.code, notice.unique_key)


def entry_of(person, now):
    return actions.record(code="people.made", happened_at=now, now=now, about=person)


def told(person, now, code="bookings.reminder", key="k:1:0", due_at=None):
    actions.tell(entry=entry_of(person, now), person=person, code=code, unique_key=key, due_at=due_at or now)


def states():
    return dict(Notice.objects.values_list("unique_key", "state"))


# ---- several at once ------------------------------------------------------------------------------------------------


def test_many_are_told_in_one_statement(house, now):
    adri, bo = makers.member("Adri"), makers.member("Bo")
    entry = entry_of(adri, now)
    rows = [
        Telling(adri, "bookings.booked", "bookings.booked:1:0", now),
        (adri, "bookings.reminder", "bookings.reminder:1:0", now + HOUR),
        (bo, "bookings.hit", "bookings.hit:2:0", now),
    ]
    with CaptureQueriesContext(connection) as asked:
        actions.tell_many(entry=entry, rows=rows)
    assert len(asked) == 1
    kept = Notice.objects.order_by("pk").values_list("entry", "person", "code", "unique_key", "due_at", "state")
    assert list(kept) == [(entry.pk, who.pk, code, key, at, "waiting") for who, code, key, at in rows]


def test_telling_many_leaves_nothing_out_in_silence(house, now):
    adri = makers.member("Adri")
    told(adri, now, key="same")
    rows = [Telling(adri, "bookings.booked", "other", now), Telling(adri, "bookings.booked", "same", now)]
    with pytest.raises(IntegrityError), transaction.atomic():
        actions.tell_many(entry=entry_of(adri, now), rows=rows)
    assert states() == {"same": "waiting"}


# ---- what need not be said any more ---------------------------------------------------------------------------------


def test_what_waits_is_called_off_by_its_key_and_never_sent(house, now, outbox):
    adri = makers.member("Adri")
    for key in ("bookings.reminder:1:0", "bookings.reminder:12:0", "bookings.reminder:2:0"):
        told(adri, now, key=key, due_at=now + HOUR)
    assert actions.call_off(keys=["bookings.reminder:1:0", "not there"], now=now) == 1
    assert actions.call_off(keys=["bookings.reminder:1:0"], now=now) == 0
    assert send_due_notices(now=now + HOUR, render=plain).sent == 2
    assert states() == {
        "bookings.reminder:1:0": "called off", "bookings.reminder:12:0": "sent", "bookings.reminder:2:0": "sent",
    }  # fmt: skip


def test_a_prefix_calls_off_those_of_one_booking_and_of_no_other(house, now):
    adri = makers.member("Adri")
    for key in ("bookings.reminder:1:0", "bookings.reminder:1:1", "bookings.reminder:12:0"):
        told(adri, now, key=key)
    with pytest.raises(ValueError, match="colon"):
        actions.call_off(prefix="bookings.reminder:1", now=now)
    assert actions.call_off(prefix="bookings.reminder:1:", now=now) == 2
    assert states()["bookings.reminder:12:0"] == "waiting"
    assert actions.call_off(now=now) == 0


def test_what_was_sent_stays_sent(house, now, outbox):
    told(makers.member("Adri"), now, key="k:1:0")
    send_due_notices(now=now, render=plain)
    assert actions.call_off(prefix="k:1:", now=now) == 0 and states() == {"k:1:0": "sent"}


def test_a_letter_that_is_no_longer_worth_saying_is_called_off_and_not_tried_again(house, now, outbox):
    told(makers.member("Adri"), now, key="stale")
    told(makers.member("Bo"), now, key="fresh")
    done = send_due_notices(now=now, render=lambda n, again: None if n.unique_key == "stale" else plain(n, again))
    assert (done.sent, done.called_off, done.failed, done.not_wanted) == (1, 1, 0, 0)
    assert states() == {"stale": "called off", "fresh": "sent"} and len(outbox) == 1
    assert send_due_notices(now=now + HOUR, render=plain).sent == 0


def test_who_has_left_is_told_only_that_a_time_is_not_theirs_any_more(house, now, outbox):
    adri = makers.member("Adri")
    for code in ("bookings.reminder", "bookings.hit", "bookings.cancelled_by_house", "people.invited"):
        told(adri, now, code=code, key=code)
    people.set_standing(person=adri, is_active=False, now=now, by=makers.member("Sef", is_staff=True))
    done = send_due_notices(now=now, render=plain)
    assert (done.sent, done.called_off, len(outbox)) == (1, 3, 1)
    assert [code for code, state in states().items() if state == "sent"] == ["bookings.cancelled_by_house"]


def test_a_letter_is_written_for_the_moment_at_which_it_was_claimed(house, now, outbox):
    told(makers.member("Adri"), now - HOUR)
    seen = []
    send_due_notices(now=now, render=lambda notice, again: seen.append(notice.claimed_at) or plain(notice, again))
    assert seen == [now]


# ---- what somebody wants --------------------------------------------------------------------------------------------


def test_no_letter_of_a_topic_that_somebody_does_not_want_is_sent(house, now, outbox):
    adri, bo = makers.member("Adri"), makers.member("Bo")
    actions.choose_letters(person=adri, wanted={"reminders": False}, now=now, by=adri)
    told(adri, now, key="a"), told(bo, now, key="b"), told(adri, now, code="bookings.booked", key="c")
    told(adri, now, code="bookings.hit", key="d")
    done = send_due_notices(now=now, render=plain)
    assert (done.sent, done.not_wanted, done.called_off) == (3, 1, 0)
    assert states() == {"a": "called off", "b": "sent", "c": "sent", "d": "sent"}
    actions.choose_letters(person=adri, wanted={"reminders": True}, now=now, by=adri)
    told(adri, now, key="e")
    assert send_due_notices(now=now, render=plain).sent == 1


def test_what_changes_a_plan_comes_whatever_somebody_chose(house, now, outbox):
    adri = makers.member("Adri")
    actions.choose_letters(person=adri, wanted=dict.fromkeys(rules.TOPICS, False), now=now, by=adri)
    for code in rules.ALWAYS:
        told(adri, now, code=code, key=code)
    assert send_due_notices(now=now, render=plain).sent == len(rules.ALWAYS)


def test_a_choice_is_written_down_once_and_only_if_it_changes_something(house, now):
    adri = makers.member("Adri")
    before = Entry.objects.count()
    assert actions.choose_letters(person=adri, wanted={"reminders": True}, now=now, by=adri) == []
    assert (NoticeChoice.objects.count(), Entry.objects.count()) == (0, before)
    for wants in (False, False, True):
        actions.choose_letters(person=adri, wanted={"reminders": wants, "offers": True}, now=now, by=adri)
    assert list(NoticeChoice.objects.values_list("topic", "wanted")) == [("reminders", True)]
    kept = Entry.objects.filter(code="journal.letters_chosen").order_by("pk").values_list("facts", flat=True)
    assert list(kept) == [{"wanted": [], "not_wanted": ["reminders"]}, {"wanted": ["reminders"], "not_wanted": []}]


def test_there_is_no_choosing_of_what_there_is_not(house, now):
    with pytest.raises(KeyError):
        actions.choose_letters(person=makers.member("Adri"), wanted={"hit": False}, now=now, by=None)
    assert not NoticeChoice.objects.exists()


def test_one_question_tells_the_choices_of_everybody_in_a_sweep(house, now):
    many = [makers.member(f"P{number}") for number in range(5)]
    actions.choose_letters(person=many[0], wanted={"offers": False, "visits": False}, now=now, by=many[0])
    with CaptureQueriesContext(connection) as asked:
        refused = queries.topics_not_wanted({one.pk for one in many})
    assert refused == {(many[0].pk, "offers"), (many[0].pk, "visits")} and len(asked) == 1


# ---- every letter has its place -------------------------------------------------------------------------------------

FOLDER = Path(studiodesk.__file__).parent
LETTERS = sorted(
    f"{path.parents[3].name}.{path.stem}" for path in FOLDER.glob("*/templates/*/letters/*.txt") if path.stem
)


def test_there_are_letters():
    assert len(LETTERS) > 14 and "people.invited" in LETTERS and "bookings.hit" in LETTERS


@pytest.mark.parametrize("code", LETTERS)
def test_every_letter_belongs_to_a_topic_or_comes_always(code):
    """Whoever writes a new letter says which: ``journal.rules``."""
    assert (rules.topic_of(code) is None) == (code in rules.ALWAYS), f"{code} stands in neither"


def test_every_topic_has_its_words_and_names_no_letter_that_comes_always():
    assert set(TOPIC_WORDS) == set(rules.TOPICS)
    assert not {code for names in rules.TOPICS.values() for code in names} & rules.ALWAYS
    assert [
        rules.topic_of(code) for code in ("stations.shift_open_7d", "bookings.changed", "stations.shift_moved", "x.y")
    ] == ["shifts", "changes", None, None]


# ---- a letter as a mail ---------------------------------------------------------------------------------------------


def test_a_letter_has_its_html_beside_the_text_and_its_files_behind(house, now, outbox):
    told(makers.member("Adri"), now)
    notice = Notice.objects.get()
    file = Attachment("a b.bin", bytes(range(256)), "application/octet-stream")
    send_due_notices(now=now, render=lambda n, again: Letter("S", "plain é\n", "<p>rich é</p>", (file,)))
    mail = outbox[0].message()
    both, behind = mail.get_payload()
    assert mail["Message-ID"] == actions.message_id(notice) and both.get_content_type() == "multipart/alternative"
    assert [part.get_content_type() for part in both.get_payload()] == ["text/plain", "text/html"]
    assert both.get_payload()[1].get_payload(decode=True).decode() == "<p>rich é</p>"
    assert (behind.get_payload(decode=True), behind.get_filename()) == (bytes(range(256)), "a b.bin")


def test_a_letter_of_text_alone_stays_what_it_was(house, now, outbox):
    told(makers.member("Adri"), now)
    send_due_notices(now=now, render=plain)
    assert outbox[0].message().get_content_type() == "text/plain" and not outbox[0].attachments
