"""The sign at the door: whoever points a phone at it comes to the door's address, and nothing else is in it."""

import re

import pytest

from studiodesk.desk.queries import qr_code
from tests.door import qr_reader
from tests.door.world import client_of, text


@pytest.mark.parametrize(
    "address",
    [
        "http://localhost:8000/door/",
        "https://darkroom.example.org/door/",
        "https://book.ostermill-darkroom.example.net/door/",
        "https://a-rather-long-name.of-a-shared.darkroom.example.org/door/",
    ],
)
def test_the_code_reads_as_the_address_and_nothing_else(address):
    assert qr_reader.read(qr_code(address)) == address


def test_the_reader_would_notice_another_address_and_a_single_wrong_module():
    svg = qr_code("https://darkroom.example.org/door/")
    assert qr_reader.read(svg) != "https://darkroom.example.org/"
    longer = re.sub(r"h1(?=m)", "h2", svg, count=1)
    assert longer != svg
    with pytest.raises((AssertionError, KeyError)):
        qr_reader.read(longer)


def test_the_sign_says_where_it_may_hang_and_brings_to_the_door(people, settings_address):
    answer = client_of(people["sef"]).get("/signs/print/?sign=front-door")
    said = text(answer)
    assert "Sign in here" in said and "https://darkroom.example.org/door/" in said
    assert "Only for the front door or the dry end. Never hang this in a dark room or at the wet side" in said
    svg = re.search(r"<svg[^>]*qr.*?</svg>", answer.content.decode(), re.DOTALL).group(0)
    assert qr_reader.read(svg) == "https://darkroom.example.org/door/"
    assert "style=" not in svg and "<script" not in svg


@pytest.fixture
def settings_address(monkeypatch):
    from django.conf import settings

    monkeypatch.setattr(settings, "SITE_ADDRESS", "https://darkroom.example.org/")
