"""The tables: for managers, to look at, and nothing else."""

import re

import pytest
from django.apps import apps
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from studiodesk.admin import NOT_SHOWN, TABLES, site
from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.models import Bath
from studiodesk.people import actions, queries
from studiodesk.units import pl_from_ml
from tests import makers


def client_of(person):
    client = Client()
    client.force_login(person)
    return client


@pytest.fixture
def manager(house):
    return makers.member("Max", is_staff=True, is_manager=True)


def addresses(model):
    name = model._meta.model_name
    return reverse(f"admin:studiodesk_{name}_changelist"), reverse(f"admin:studiodesk_{name}_add")


ALL = list(apps.get_app_config("studiodesk").get_models())
#: What people told a tutor is for the tutor alone.
MODELS = [model for model in ALL if model._meta.model_name not in NOT_SHOWN]


def test_every_table_can_be_looked_at_and_none_added_to(manager):
    assert {model for model, _ in site._registry.items()} == set(MODELS) and len(MODELS) > 20
    assert {"privateneed"} == NOT_SHOWN
    client = client_of(manager)
    assert client.get("/admin/").status_code == 200
    for model in MODELS:
        listed, add = addresses(model)
        assert client.get(listed).status_code == 200, listed
        assert client.get(add).status_code == 403, add
        assert client.post(add, {}).status_code == 403, add


def test_a_row_is_shown_and_can_be_neither_changed_nor_deleted(manager):
    adri = makers.member("Adri")
    client = client_of(manager)
    change = reverse("admin:studiodesk_member_change", args=[adri.pk])
    assert "Adri" in client.get(change).content.decode()
    assert client.post(change, {"name": "Somebody", "number": "X"}).status_code == 403
    assert client.post(reverse("admin:studiodesk_member_delete", args=[adri.pk]), {"post": "yes"}).status_code == 403
    listed = addresses(type(adri))[0]
    client.post(listed, {"action": "delete_selected", "_selected_action": [adri.pk], "post": "yes"})
    adri.refresh_from_db()
    assert adri.name == "Adri"


def test_no_secret_is_shown_not_even_as_a_hash(manager, now):
    row, code = actions.invite_tablet(name="Dry end", now=now, by=manager)
    row, _secret = actions.enrol_tablet(code=code, now=now)
    client = client_of(manager)
    page = client.get(reverse("admin:studiodesk_tablet_change", args=[row.pk])).content.decode()
    assert "Dry end" in page and row.secret_hash not in page
    page = client.get(reverse("admin:studiodesk_member_change", args=[manager.pk])).content.decode()
    assert manager.password not in page and manager.password.split("$")[0] + "$" not in page
    assert queries.secret_hash(code) not in page


@pytest.mark.parametrize("roles", [{}, {"is_tutor": True}, {"is_keyholder": True}, {"is_staff": True}])
def test_whoever_is_no_manager_is_told_so(house, roles):
    client = client_of(makers.member("Adri", **roles))
    assert client.get("/admin/").status_code == 403
    for model in MODELS:
        assert client.get(addresses(model)[0]).status_code == 403


def test_a_stranger_is_sent_to_the_house_s_own_log_in_with_its_waits(house):
    for path in ("/admin/", "/admin/login/", "/admin/studiodesk/member/"):
        answer = Client().get(path)
        assert answer.status_code == 302 and answer["Location"].startswith("/log-in/?next=/admin/"), path
    answer = Client().post("/admin/login/", {"username": "x", "password": "y"})
    assert answer["Location"].startswith("/log-in/")


def test_every_table_has_a_name_and_columns_in_the_words_of_the_trade(manager):
    assert set(TABLES) == {model._meta.model_name for model in ALL}
    client = client_of(manager)
    index = client.get("/admin/").content.decode()
    for name in ("Sheets through", "Kept times", "Tanks, from one bath change to the next"):
        assert name in index
    for path in ("/admin/", *(addresses(model)[0] for model in MODELS)):
        page = re.sub(r"<[^>]+>", "|", client.get(path).content.decode())
        assert not re.search(r"\b(feeds?|fills?|holds?|lanes?)\b", page, re.I), path


def test_a_list_shows_amounts_as_people_say_them_and_times_of_the_studio(manager, now):
    house = {bath.code: bath for bath in Bath.objects.filter(processor__code="P-RC")}
    chemistry.record_bath_entry(
        bath=house["fix"], event="given", at=now, now=now, amount_pl=pl_from_ml(150), by=manager
    )
    page = client_of(manager).get("/admin/studiodesk/bathentry/").content.decode()
    assert "150.0 mL" in page and ">Amount<" in page.replace("</a>", "<")
    assert "3 p.m." in page or "15:00" in page  # 14:00 UTC is 15:00 in Amsterdam


def test_a_list_asks_the_same_however_many_rows_it_has(manager, now):
    client = client_of(manager)
    house = {bath.code: bath for bath in Bath.objects.filter(processor__code="P-RC")}

    def noted(times):
        for _ in range(times):
            chemistry.record_bath_entry(bath=house["fix"], event="note", at=now, now=now, note="x", by=manager)
        with CaptureQueriesContext(connection) as seen:
            client.get("/admin/studiodesk/bathentry/")
        return len(seen)

    noted(1)
    assert noted(1) == noted(5)
