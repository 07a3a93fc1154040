"""What the tablet's scripts send: each log counted once, refusals as sentences, the facts of today."""

import json
import sys
import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studiodesk.answers import refuse
from studiodesk.bookings.models import Booking
from studiodesk.chemistry import actions, queries
from studiodesk.chemistry.models import Feed, PaperClass
from studiodesk.chemistry.words import tablet as words
from studiodesk.journal.models import GivenAnswer
from studiodesk.people import actions as doors
from tests.chemistry.pages import INTERNAL, booked, tablet_client


def ms(moment):
    return int(moment.timestamp() * 1000)


def log(now, *, ago=timedelta(minutes=3), off=timedelta(), **changed):
    """A log tapped ``ago``, by a clock that is ``off``."""
    told = {"processor": "P-RC", "sheet": "203x254", "sheets": 5, "kind": "print", "who": "walk-in", "paper": ""}
    return told | {"tapped": ms(now - ago + off), "sent": ms(now + off)} | changed


def send(client, body, key=None):
    headers = {} if key is None else {"Idempotency-Key": f'"{key}"'}
    return client.post("/tablet/logs/", json.dumps(body), content_type="application/json", headers=headers)


def key():
    return str(uuid.uuid4())


def test_a_log_counts_once_and_every_answer_is_the_first_one(house, people, now):
    client, tablet = tablet_client(now, people["staff"])
    booking, one = booked(house, people["member"], now), key()
    first = send(client, log(now, who=f"b{booking.pk}"), one)
    assert (first.status_code, first["Cache-Control"]) == (200, "no-store")
    again = send(client, log(now, who=f"b{booking.pk}") | {"sent": ms(now) + 9000}, one)  # sent later, the same log
    feed = Feed.objects.get()
    assert first.json() == again.json() == {"key": one, "feed": feed.pk}
    assert (feed.tablet, feed.booking, feed.member, feed.sheets) == (tablet, booking, people["member"], 5)
    assert (str(feed.tablet_key), feed.fed_at, feed.recorded_at) == (one, now - timedelta(minutes=3), now)
    assert queries.standings(now)[1].area_mm2 == 5 * 203 * 254


def test_without_key_400_with_another_body_422_while_it_runs_409(house, people, now, monkeypatch):
    client, _tablet = tablet_client(now, people["staff"])
    one = key()
    assert send(client, log(now)).status_code == 400
    assert send(client, log(now), one).status_code == 200
    other = send(client, log(now, sheets=6), one)
    assert (other.status_code, other.json()["code"]) == (422, "journal.key_used_before")

    def still_running(**_):
        refuse("journal.still_running")

    monkeypatch.setattr(sys.modules["studiodesk.chemistry.views.tablet_logs"], "once", still_running)
    running = send(client, log(now), key())
    assert (running.status_code, running.json()["code"]) == (409, "journal.still_running")
    assert Feed.objects.count() == 1


def test_it_counts_once_when_the_answers_are_forgotten_and_when_the_tablet_was_enrolled_anew(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    anew, _other = tablet_client(now, people["staff"], "another secret")
    one = key()
    first = send(client, log(now), one)
    GivenAnswer.objects.all().delete()
    assert send(client, log(now), one).json() == first.json()
    assert send(anew, log(now), one).json() == first.json()
    refused = send(anew, log(now, sheets=6), key()) and send(Client(), log(now), one)
    assert refused.status_code == 401
    GivenAnswer.objects.all().delete()
    assert send(client, log(now, sheet="50x203"), one).json()["code"] == "journal.key_used_before"
    assert Feed.objects.filter(tablet_key=one).count() == 1


def test_the_database_itself_refuses_a_key_that_is_counted(house, people, now):
    client, tablet = tablet_client(now, people["staff"])
    one = key()
    send(client, log(now), one)
    with pytest.raises(IntegrityError), transaction.atomic():
        actions.log_sheets(
            processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=5, kind="print", who="walk-in",
            fed_at=now, now=now, tablet=tablet, tablet_key=uuid.UUID(one),
        )  # fmt: skip


def test_whoever_comes_second_with_a_key_gets_the_first_row(house, people, now, monkeypatch):
    """The other process wrote between the look and the row: the constraint decides, and nobody gets an error."""
    client, _tablet = tablet_client(now, people["staff"])
    one = key()
    first = send(client, log(now), one).json()
    GivenAnswer.objects.all().delete()
    real, looks = actions.tablet.feed_by_tablet_key, []

    def late(key):
        looks.append(key)
        return real(key) if len(looks) > 1 else None

    monkeypatch.setattr(actions.tablet, "feed_by_tablet_key", late)
    assert send(client, log(now), one).json() == first
    assert len(looks) == 2 and Feed.objects.count() == 1


def test_a_wrong_clock_is_corrected_and_a_log_of_days_ago_goes_to_the_desk(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    for off in (timedelta(days=-300), timedelta(hours=7)):
        send(client, log(now, ago=timedelta(hours=2), off=off), key())
    assert set(Feed.objects.values_list("fed_at", flat=True)) == {now - timedelta(hours=2)}
    late = send(client, log(now, ago=timedelta(hours=25)), key())
    assert (late.status_code, late.json()["code"]) == (409, "chemistry.too_long_ago")
    assert late.json()["said"] and "desk" in late.json()["way_on"]


@pytest.mark.parametrize(
    ("changed", "status", "code"),
    [
        ({"processor": "NONE"}, 422, "no_longer_listed"),
        ({"sheet": "999x999"}, 422, "no_longer_listed"),
        ({"paper": "none"}, 422, "no_longer_listed"),
        ({"who": "b99999999"}, 422, "booking_of_another_day"),
        ({"who": "b"}, 422, "booking_of_another_day"),
        ({"who": "member"}, 400, "tablet_unreadable"),
        ({"kind": "cleaning"}, 400, "tablet_unreadable"),
        ({"sheets": 0}, 409, "no_sheets"),
        ({"sheets": 10_001}, 409, "too_many_sheets"),
        ({"sheets": "5"}, 400, "tablet_unreadable"),
        ({"sheets": True}, 400, "tablet_unreadable"),
        ({"sheets": 1.5}, 400, "tablet_unreadable"),
        ({"tapped": -1}, 400, "tablet_unreadable"),
        ({"sent": 10**18}, 400, "tablet_unreadable"),
        ({"sheet": None}, 400, "tablet_unreadable"),
        ({"sheet": "203x254\0"}, 400, "tablet_unreadable"),
        ({"processor": "x" * 5000}, 400, "tablet_unreadable"),
    ],
)
def test_a_refusal_has_its_sentence_and_way_on(people, now, changed, status, code):
    client, _tablet = tablet_client(now, people["staff"])
    one = key()
    for _ in range(2):  # a refusal is kept under no key: asked again it is answered the same
        answer = send(client, log(now, **changed), one)
        assert (answer.status_code, answer.json()["code"]) == (status, f"chemistry.{code}")
        said = f"{answer.json()['said']} {answer.json()['way_on']}"
        assert len(said) > 30 and not INTERNAL.search(said)
    assert Feed.objects.count() == GivenAnswer.objects.count() == 0


@pytest.mark.parametrize("body", ["", "x", "[]", "{}", "null", "[" * 3000])
def test_what_is_no_log_is_no_fault_of_the_server(people, now, body):
    client, _tablet = tablet_client(now, people["staff"])
    answer = client.post("/tablet/logs/", body, content_type="application/json", headers={"Idempotency-Key": key()})
    assert (answer.status_code, answer.json()["code"]) == (400, "chemistry.tablet_unreadable")
    assert send(client, log(now), "no uuid").status_code == 400


def test_a_booking_given_back_since_is_charged_and_one_of_another_day_or_processor_is_not(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    here, there = booked(house, people["member"], now), booked(house, people["member"], now, processor="P-CO")
    Booking.objects.filter(pk=here.pk).update(cancelled_at=now)
    assert send(client, log(now, who=f"b{here.pk}"), key()).status_code == 200
    assert send(client, log(now, who=f"b{there.pk}"), key()).json()["code"] == "chemistry.booking_of_another_day"
    old = booked(house, people["member"], now - timedelta(days=3))
    assert send(client, log(now, who=f"b{old.pk}"), key()).json()["code"] == "chemistry.booking_of_another_day"
    assert Feed.objects.get().booking == here


def test_where_several_papers_go_through_one_is_asked_for(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    for code in ("rc", "baryta"):
        PaperClass.objects.create(code=code, name=code).processes.add(house.processes["rc"])
    assert send(client, log(now), key()).json()["code"] == "chemistry.paper_needed"
    assert send(client, log(now, paper="baryta"), key()).status_code == 200
    assert Feed.objects.get().paper.code == "baryta"


def test_a_tablet_out_of_use_is_told_so_and_nothing_is_counted(house, people, now):
    client, tablet = tablet_client(now, people["staff"])
    doors.revoke_tablet(tablet=tablet, now=now, by=people["staff"])
    staff = Client()
    staff.force_login(people["staff"])
    for asked in (client, staff, Client()):
        for answer in (send(asked, log(now), key()), asked.get("/tablet/facts/")):
            assert (answer.status_code, answer.json()["code"]) == (401, "chemistry.tablet_out_of_use")
    assert Feed.objects.count() == 0


def test_a_log_is_taken_back_by_its_key_by_the_tablet_that_sent_it(house, people, now):
    client, _tablet = tablet_client(now, people["staff"])
    other, _ = tablet_client(now, people["staff"], "another secret")
    first, last = key(), key()
    send(client, log(now), first)
    send(client, log(now), last)
    assert other.post(f"/tablet/logs/{last}/undo/").status_code == 404
    early = client.post(f"/tablet/logs/{first}/undo/")
    assert (early.status_code, early.json()["code"]) == (409, "chemistry.too_late_to_undo")
    for _ in range(2):  # the first answer was lost
        assert client.post(f"/tablet/logs/{last}/undo/").json()["key"] == last
    assert Feed.objects.filter(undoes__tablet_key=last).count() == 1
    assert send(client, log(now), last).status_code == 200  # and coming late it counts nothing anew
    assert Feed.objects.filter(undoes=None, undone_by=None).count() == 1


def test_the_facts_name_today_s_people_and_cost_the_same_few_questions(house, people, now, db):
    client, _tablet = tablet_client(now, people["staff"])
    booked(house, people["member"], now - timedelta(days=2))
    counts = []
    for _ in range(2):
        here = booked(house, people["member"], now)
        with CaptureQueriesContext(db) as asked:
            answer = client.get("/tablet/facts/")
        counts.append(len(asked))
    facts = answer.json()
    assert counts[0] == counts[1] <= 6
    assert answer["Cache-Control"] == "no-store" and facts["token"] and facts["now"] == ms(now)
    assert facts["until"] == ms(now + timedelta(hours=9))  # midnight in Amsterdam, at 15:00
    rc = next(one for one in facts["processors"] if one["code"] == "P-RC")
    assert [f"b{here.pk}", "Adri", "Booth 1, 14:00 to 17:00"] in rc["who"] and len(rc["who"]) == 2
    page = client.get("/tablet/processor/P-RC/").context["tiles"]["sheet"]
    assert [code for code, _ in rc["sheet"]] == [code for code, *_ in page]
    assert [code for code, _ in facts["kinds"]] == ["print", "test strip", "reject"]


def test_shell_worker_and_manifest_are_the_same_for_everybody_and_name_nobody(house, people, now):
    booked(house, people["member"], now)
    tablet, _ = tablet_client(now, people["staff"])
    staff = Client()
    staff.force_login(people["staff"])
    for path in ("/tablet/shell/", "/tablet/worker.js", "/tablet/manifest.webmanifest"):
        answers = [asked.get(path, headers={"Accept-Language": "nl"}) for asked in (Client(), tablet, staff, Client())]
        assert len({answer.content for answer in answers}) == 1
        assert {answer.status_code for answer in answers} == {200} and not answers[0].cookies
        for word in ("csrfmiddlewaretoken", "Adri", "Sef", 'name="key"'):
            assert word not in answers[0].content.decode()
    assert "data-shell" in Client().get("/tablet/shell/").content.decode()


def version():
    told = Client().get("/tablet/worker.js").content.decode()
    return json.loads(told.removeprefix("self.told = ").split(";\n", 1)[0])["version"]


def test_another_byte_of_what_the_worker_keeps_makes_another_version(house, people, tmp_path, monkeypatch):
    from studiodesk.chemistry.views import tablet_offline

    before, real, changed = version(), tablet_offline._found, tmp_path / "changed"
    assert before == version()
    for name in (*tablet_offline.FILES, tablet_offline.WORKER):
        changed.write_bytes(real(name).read_bytes() + b" ")
        monkeypatch.setattr(
            tablet_offline, "_found", lambda asked, name=name: changed if asked == name else real(asked)
        )
        assert version() != before, name
    monkeypatch.setattr(tablet_offline, "_found", real)
    monkeypatch.setattr(tablet_offline, "MOST_SHEETS", 99)
    assert version() != before, "the shell"


def test_the_manifest_stands_for_the_tablet_s_pages_alone_in_black(house, people):
    answer = Client().get("/tablet/manifest.webmanifest")
    manifest = answer.json()
    assert answer["Content-Type"] == "application/manifest+json"
    assert (manifest["scope"], manifest["start_url"], manifest["display"]) == ("/tablet/", "/tablet/", "standalone")
    assert manifest["background_color"] == manifest["theme_color"] == "#000000"
    assert {icon["purpose"] for icon in manifest["icons"]} == {"any", "maskable"}


def test_only_an_enrolled_tablet_s_pages_bring_the_queue(house, people, now):
    tablet, _ = tablet_client(now, people["staff"])
    staff = Client()
    staff.force_login(people["staff"])
    for path in ("/tablet/", "/tablet/processor/P-RC/", "/tablet/people/"):
        assert "tablet_queue" in tablet.get(path).content.decode()
        assert "tablet_queue" not in staff.get(path).content.decode()


def test_the_screen_says_its_four_sentences_in_the_words_that_were_agreed():
    said = words.screen_words()
    assert said["sent"] == "All logs sent" and said["cannot"] == "Cannot save: tell the desk"
    assert said["waiting"] % {"count": 3, "time": "14:02"} == "3 waiting, oldest 14:02"
    assert said["desk"][0] % {"count": 1} == "1 needs the desk"
    assert said["insecure"] == "This tablet can't save without the network: its address is not secure"
