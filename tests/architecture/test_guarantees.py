"""The two constraints of our own, on both databases: what they refuse, and what of a table's fate they survive."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.core.checks import run_checks
from django.db import IntegrityError, connection, transaction
from django.db.migrations.recorder import MigrationRecorder

from studiodesk.bookings.models import Booking, Hold, ZoneHold
from studiodesk.journal.models import Entry, JournalGate
from studiodesk.stations.models import Lane, LightZone
from tests import makers

TEN = datetime(2026, 11, 27, 10, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def hold(lane: Lane, start: float, end: float) -> Hold:
    return Hold.objects.create(lane=lane, starts=TEN + start * HOUR, ends=TEN + end * HOUR, cause="closure")


@pytest.fixture
def lanes(house: Any) -> list[Lane]:
    return list(Lane.objects.all()[:2])


@pytest.mark.parametrize("start,end", [(-1, 0.25), (0.75, 2), (0.25, 0.5), (-1, 2), (0, 1)])
def test_a_lane_cannot_be_held_twice_at_one_instant(lanes: list[Lane], start: float, end: float) -> None:
    hold(lanes[0], 0, 1)
    hold(lanes[1], start, end)
    with pytest.raises(IntegrityError), transaction.atomic():
        hold(lanes[0], start, end)
    assert Hold.objects.count() == 2


@pytest.mark.parametrize("start,end", [(-1, 0), (1, 2)])
def test_holds_that_only_touch_stand_side_by_side(lanes: list[Lane], start: float, end: float) -> None:
    hold(lanes[0], 0, 1)
    hold(lanes[0], start, end)
    assert Hold.objects.count() == 2


def test_a_hold_cannot_be_moved_onto_another_but_may_be_moved_within_itself(lanes: list[Lane]) -> None:
    hold(lanes[0], 0, 1)
    later = hold(lanes[0], 1, 2)
    assert Hold.objects.filter(pk=later.pk).update(starts=TEN + 1.5 * HOUR) == 1
    with pytest.raises(IntegrityError), transaction.atomic():
        Hold.objects.filter(pk=later.pk).update(starts=TEN + 0.5 * HOUR)


@pytest.mark.parametrize("hours,fits", [(24, True), (24.25, False), (0, False), (-1, False)])
def test_a_hold_lasts_more_than_nothing_and_at_most_a_day(lanes: list[Lane], hours: float, fits: bool) -> None:
    if fits:
        hold(lanes[0], 0, hours)
    else:
        with pytest.raises(IntegrityError), transaction.atomic():
            hold(lanes[0], 0, hours)


def test_one_room_has_one_light_at_a_time_for_any_number_of_people(house: Any) -> None:
    zone = LightZone.objects.get(name="shared room")
    booking = Booking.objects.create(
        reference="X1",
        member=makers.member(),
        station=house.stations["E3"],
        process=house.processes["rc"],
        starts=TEN,
        ends=TEN + HOUR,
        made_at=TEN - HOUR,
        recorded_at=TEN - HOUR,
    )

    def light(need: str, start: float, end: float) -> ZoneHold:
        return ZoneHold.objects.create(
            zone=zone, light=need, starts=TEN + start * HOUR, ends=TEN + end * HOUR, booking=booking
        )

    light("safelight", 0, 3)
    light("safelight", 1, 2)
    light("total darkness", 3, 4)
    with pytest.raises(IntegrityError), transaction.atomic():
        light("total darkness", 2.5, 3)
    later = light("total darkness", 5, 6)
    with pytest.raises(IntegrityError), transaction.atomic():
        ZoneHold.objects.filter(pk=later.pk).update(light="safelight", starts=TEN + 3.5 * HOUR)


def test_an_entry_of_the_journal_is_never_changed_and_deleted_only_through_the_gate(db: Any) -> None:
    entry = Entry.objects.create(code="test.made", happened_at=TEN, recorded_at=TEN)
    with pytest.raises(IntegrityError, match="journal_is_append_only"), transaction.atomic():
        Entry.objects.filter(pk=entry.pk).update(code="test.changed")
    with pytest.raises(IntegrityError, match="journal_is_append_only"), transaction.atomic():
        entry.delete()
    assert Entry.objects.get(pk=entry.pk).code == "test.made"
    gate = JournalGate.objects.create(open=True)
    Entry.objects.filter(pk=entry.pk).delete()
    JournalGate.objects.filter(pk=gate.pk).update(open=False)
    assert not Entry.objects.exists()


def test_every_guarantee_stands_in_the_database_and_a_lost_one_is_named(db: Any) -> None:
    assert [e for e in run_checks(databases=["default"]) if e.id == "studiodesk.E002"] == []
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute('DROP TRIGGER "a_lane_is_held_once_update"')
        else:
            cursor.execute("ALTER TABLE studiodesk_hold DROP CONSTRAINT a_lane_is_held_once")
    (lost,) = [e for e in run_checks(databases=["default"]) if e.id == "studiodesk.E002"]
    assert "studiodesk_hold" in lost.msg and "a_lane_is_held_once" in lost.msg


def test_the_triggers_survive_a_remade_table_a_vacuum_and_a_dump(fresh_db: str, engine: Any, tmp_path: Any) -> None:
    if engine.name != "sqlite":
        assert MigrationRecorder(connection).applied_migrations()  # nothing is remade on PostgreSQL
        return
    from django.db import models

    with connection.schema_editor() as editor:
        # Altering a field is what makes Django build the table anew.
        old, new = Hold._meta.get_field("reason"), models.CharField(max_length=300, blank=True)
        new.set_attributes_from_name("reason")
        new.model = Hold
        editor.alter_field(Hold, old, new)
    assert [e for e in run_checks(databases=["default"]) if e.id == "studiodesk.E002"] == []
    connection.close()

    path = fresh_db.removeprefix("sqlite:///")
    vacuumed, reloaded = tmp_path / "vacuumed.sqlite3", tmp_path / "reloaded.sqlite3"
    bare = sqlite3.connect(path)
    bare.execute("VACUUM INTO ?", (str(vacuumed),))
    copy = sqlite3.connect(reloaded)
    copy.executescript("\n".join(bare.iterdump()))
    for place in (bare, sqlite3.connect(vacuumed), copy):
        place.execute("INSERT INTO studiodesk_resource (id, sort) VALUES (1, 'station')")
        place.execute("INSERT INTO studiodesk_lane (id, number, resource_id) VALUES (1, 1, 1)")
        insert = (
            "INSERT INTO studiodesk_hold (lane_id, starts, ends, cause, reason) VALUES "
            "(1, '2026-11-27 10:00:00', ?, 'closure', '')"
        )
        place.execute(insert, ("2026-11-27 11:00:00",))
        with pytest.raises(sqlite3.IntegrityError, match="a_lane_is_held_once"):
            place.execute(insert, ("2026-11-27 11:00:00",))
        with pytest.raises(sqlite3.IntegrityError, match="a_lane_is_held_once_longest"):
            place.execute(insert.replace("10:00:00", "12:00:00"), ("2026-11-28 12:00:01",))
        place.rollback()
