"""Telling people: claimed, sent once, tried again, a second copy only where nobody can know better."""

from datetime import timedelta

import pytest

from studiodesk import letters
from studiodesk.bookings import actions as bookings
from studiodesk.journal import actions
from studiodesk.journal.actions import Letter, send_due_notices, sending
from studiodesk.journal.models import Entry, Notice
from studiodesk.people import actions as people
from studiodesk.people.actions import persons
from studiodesk.people.models import Member
from tests import makers


def plain(notice, again):
    return Letter(f"To {notice.person.name}", "again" if again else "first")


def told(person, now, key="k", due_at=None):
    entry = actions.record(code="people.invited", happened_at=now, now=now, about=person)
    actions.tell(entry=entry, person=person, code="people.invited", unique_key=key, due_at=due_at or now)
    return Notice.objects.get(unique_key=key)


def test_a_letter_is_sent_once_however_often_the_sweep_runs(house, now, outbox):
    notice = told(makers.member("Adri"), now)
    assert send_due_notices(now=now, render=plain).sent == 1
    assert send_due_notices(now=now + timedelta(hours=1), render=plain).sent == 0
    notice.refresh_from_db()
    assert (notice.state, notice.sent_at, notice.tries, len(outbox)) == ("sent", now, 1, 1)


def test_the_same_key_tells_once(house, now, outbox):
    person = makers.member("Adri")
    told(person, now)
    told(person, now)
    assert Notice.objects.count() == 1


def test_what_is_not_due_yet_waits(house, now, outbox):
    told(makers.member("Adri"), now, due_at=now + timedelta(hours=1))
    assert send_due_notices(now=now, render=plain).sent == 0
    assert send_due_notices(now=now + timedelta(hours=1), render=plain).sent == 1


def test_a_claim_of_the_last_ten_minutes_is_left_alone_and_an_older_one_is_sent_as_a_marked_second_copy(
    house, now, outbox
):
    """What a sweep that was killed between sending and noting it leaves behind."""
    notice = told(makers.member("Adri"), now)
    first_id = actions.message_id(notice)
    assert sending._claim(notice, now)
    assert send_due_notices(now=now + timedelta(minutes=10), render=plain).sent == 0
    done = send_due_notices(now=now + timedelta(minutes=10, seconds=1), render=plain)
    assert (done.sent, done.second_copies) == (1, 1)
    assert outbox[0].extra_headers["Message-ID"] == first_id
    assert outbox[0].extra_headers["X-Second-Copy"] == "maybe" and outbox[0].body == "again"
    assert Entry.objects.filter(code="journal.sent_again").count() == 1


def test_only_one_of_two_sweeps_that_saw_the_same_letter_gets_it(house, now):
    notice = told(makers.member("Adri"), now)
    same = Notice.objects.get(pk=notice.pk)
    assert [sending._claim(notice, now), sending._claim(same, now)] == [True, False]
    later = now + timedelta(minutes=11)
    seen = [Notice.objects.get(pk=notice.pk) for _ in range(2)]
    assert [sending._claim(one, later) for one in seen] == [True, False]


def test_a_letter_that_cannot_be_sent_waits_longer_each_time_and_is_given_up_in_the_end(house, now, outbox):
    person = makers.member("Adri")
    notice = told(person, now)
    other = told(makers.member("Bente"), now, key="other")

    def render(one, again):
        if one.pk == notice.pk:
            raise OSError("mail server away")
        return plain(one, again)

    done = send_due_notices(now=now, render=render)
    assert (done.sent, done.failed) == (1, 1)  # the other one is told all the same
    other.refresh_from_db()
    assert other.state == "sent"
    waits, at = [], now
    while True:
        notice.refresh_from_db()
        if notice.state == "given up":
            break
        waits.append((notice.due_at - at).total_seconds() / 60)
        at = notice.due_at
        assert send_due_notices(now=at - timedelta(seconds=1), render=render).failed == 0
        assert send_due_notices(now=at, render=render).failed == 1
    assert waits == [1, 2, 4, 8, 16, 32, 64, 128]
    assert Entry.objects.filter(code="journal.given_up").count() == 1
    assert [mail.to for mail in outbox] == [[other.person.email]]


def test_a_failed_try_is_no_second_copy(house, now, outbox):
    told(makers.member("Adri"), now)

    def away(notice, again):
        raise OSError

    send_due_notices(now=now, render=away)
    done = send_due_notices(now=now + timedelta(minutes=1), render=plain)
    assert (done.sent, done.second_copies) == (1, 0)
    assert "X-Second-Copy" not in outbox[0].extra_headers


@pytest.mark.parametrize("code", ["people.invited", "people.password_link"])
def test_every_letter_is_written_with_its_subject_and_greets_by_name(house, now, code):
    person = makers.member("Adri <b>")
    notice = told(person, now)
    notice.code = code
    letter = letters.render(notice, False)
    assert "Ostermill Darkroom" in letter.subject and "\n" not in letter.subject
    assert "Hello Adri <b>," in letter.body and "/password/" in letter.body
    assert "twice" not in letter.body and "twice" in letters.render(notice, True).body


def test_a_name_with_a_line_break_cannot_write_headers(house, now, outbox):
    person = makers.member("Adri")
    Member.objects.filter(pk=person.pk).update(name="A\nBcc: all@example.org")
    told(person, now)
    send_due_notices(now=now, render=lambda notice, again: Letter(f"To {notice.person.name}", "x"))
    message = outbox[0].message()
    assert message["Bcc"] is None and message["Subject"] == "To A Bcc: all@example.org"


def test_an_invitation_and_its_letter_are_written_together_or_not_at_all(house, now, monkeypatch):
    def broken(**given):
        raise RuntimeError("power cut")

    monkeypatch.setattr(persons.journal, "tell", broken)
    with pytest.raises(RuntimeError):
        people.make_person(number="T1", name="N", email="n@example.org", joined_on=now.date(), now=now)
    assert not Member.objects.filter(number="T1").exists() and not Entry.objects.exists()


def test_given_answers_are_kept_for_seven_days(house, now):
    actions.once(key="k", asker="1", body={}, now=now, work=lambda: {"pk": 1})
    assert actions.forget_given_answers(now=now + timedelta(days=7)) == 0
    assert actions.forget_given_answers(now=now + timedelta(days=7, seconds=1)) == 1


def test_whose_booking_the_house_cancels_is_written_which_and_how_to_book_again(house, now, outbox):
    adri, kim = makers.member("Adri"), makers.member("Kim", is_keyholder=True)
    booking = bookings.book(
        member=adri, station=house.stations["E1"], process=house.processes["rc"], starts=now + timedelta(days=1),
        ends=now + timedelta(days=1, hours=2), now=now, by=adri,
    )  # fmt: skip
    send_due_notices(now=now, render=letters.render)
    outbox.clear()
    bookings.cancel(booking=booking, now=now, by=kim)
    assert send_due_notices(now=now + timedelta(minutes=1), render=letters.render).sent == 1
    letter = outbox[0]
    assert letter.to == [adri.email] and letter.subject == "Your booking of Thursday 26 November 2026 was cancelled"
    # 14:00 UTC is 15:00 in Amsterdam.
    assert "Thursday 26 November 2026, 15:00 to 17:00" in letter.body and "Booth 1" in letter.body
    assert booking.reference in letter.body and "/find/" in letter.body and "http" in letter.body
    own = bookings.book(
        member=adri, station=house.stations["S1"], process=None, starts=now + timedelta(days=1),
        ends=now + timedelta(days=1, hours=2), now=now, by=adri,
    )  # fmt: skip
    bookings.cancel(booking=own, now=now, by=adri)
    outbox.clear()
    send_due_notices(now=now + timedelta(minutes=2), render=letters.render)
    assert not any("was cancelled" in mail.subject for mail in outbox)
