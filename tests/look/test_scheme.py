"""Light or dark: by the device's wish or by choice, by anybody, without a script and without a row in the database."""

import pytest
from bs4 import BeautifulSoup
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studiodesk.scheme import SCHEME_COOKIE
from tests import makers

pytestmark = pytest.mark.parametrize("engine", ["sqlite"], indirect=True)


def page_of(client, path="/log-in/"):
    return BeautifulSoup(client.get(path).content, "html5lib")


def chosen(page):
    return [button.get_text() for button in page.select("[name=scheme][aria-pressed=true]")]


def meta(page):
    return page.find("meta", attrs={"name": "color-scheme"})["content"]


def test_untold_a_page_is_as_the_device_wishes(db):
    page = page_of(Client())
    assert page.html.get("class") is None and meta(page) == "light dark" and chosen(page) == ["As this device"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_stranger_chooses_and_it_is_kept_in_the_browser_alone(db, scheme):
    client = Client()
    with CaptureQueriesContext(connection) as asked:
        answer = client.post("/look/choose/", {"scheme": scheme, "next": "/password/forgotten/"})
    assert (answer.status_code, answer["Location"]) == (302, "/password/forgotten/")
    assert not [one for one in asked.captured_queries if not one["sql"].startswith("SELECT")]
    kept = answer.cookies[SCHEME_COOKIE]
    assert (kept.value, kept["samesite"], bool(kept["httponly"])) == (scheme, "Lax", True)
    page = page_of(client)
    assert page.html["class"] == [scheme] and meta(page) == scheme and chosen(page) == [scheme.title()]
    client.post("/look/choose/", {"scheme": "device", "next": "/"})
    assert page_of(client).html.get("class") is None


@pytest.mark.parametrize("kept", ["", "purple", 'dark" onload="x', "<b>"])
def test_whatever_else_stands_in_the_cookie_is_no_choice(db, kept):
    client = Client()
    client.cookies[SCHEME_COOKIE] = kept
    assert page_of(client).html.get("class") is None


@pytest.mark.parametrize(
    "back",
    ["", "https://elsewhere.example/", "//elsewhere.example/", "/\\elsewhere.example", "javascript:go()", "look"],
)
def test_the_way_back_never_leads_elsewhere(db, back):
    assert Client().post("/look/choose/", {"scheme": "dark", "next": back})["Location"] == "/"


def test_the_form_comes_back_to_the_page_as_it_was_asked_for(db):
    makers.house()
    page = page_of(Client(), "/log-in/?next=/day/")
    assert page.select_one(".schemes [name=next]")["value"] == "/log-in/?next=/day/"
    answered = BeautifulSoup(Client().post("/log-in/", {"email": "x@example.org", "password": "x"}).content, "html5lib")
    assert answered.select_one(".schemes [name=next]")["value"] == "/", "what was sent is not asked for again"
    assert page.select_one(".schemes [name=csrfmiddlewaretoken]")["value"]
