"""The sentences of a form that was filled in wrongly: the field is named, and a form's own words stay."""

from __future__ import annotations

import pytest
from django import forms
from django.test import Client

from studiodesk.house_forms import HouseForm
from studiodesk.templatetags.look import error_summary
from tests import makers


class Sample(HouseForm):
    name = forms.CharField(label="Name", max_length=3)
    email = forms.EmailField(label="Email", required=False)
    day = forms.DateField(label="Day", required=False)
    begins = forms.TimeField(label="From", required=False)
    sheets = forms.IntegerField(label="Sheets", required=False, min_value=1, max_value=9)
    size = forms.ChoiceField(label="Size", choices=[("a", "A")])
    own = forms.CharField(label="Why", error_messages={"required": "Say why."})

    def clean_begins(self) -> object:
        if self.cleaned_data["begins"] is not None:
            raise forms.ValidationError("Nobody is here then.")
        return None


@pytest.mark.parametrize(
    ("field", "sent", "said"),
    [
        ("name", "", "Name: this is missing."),
        ("name", "abcd", "Name: at most 3 characters, and here are 4."),
        ("name", "a\0", "Name: there is a character in it that cannot be kept."),
        ("email", "x", "Email: write a whole address, such as name@example.org."),
        ("day", "tomorrow", "Day: write a day, such as 2026-11-27."),
        ("begins", "noon", "From: write a time, such as 14:45."),
        ("begins", "14:00", "Nobody is here then."),
        ("sheets", "a few", "Sheets: write a whole number."),
        ("sheets", "0", "Sheets: at least 1."),
        ("sheets", "10", "Sheets: at most 9."),
        ("size", "", "Size: choose one of the list."),
        ("size", "b", "Size: choose one of the list."),
        ("own", "", "Say why."),
    ],
)
def test_a_complaint_names_its_field(field: str, sent: str, said: str) -> None:
    form = Sample({"name": "abc", "size": "a", "own": "x", field: sent})
    assert list(form.errors) == [field] and form.errors[field] == [said]


def test_what_is_right_is_taken() -> None:
    assert Sample({"name": "abc", "size": "a", "own": "x", "sheets": "9", "email": "a@example.org"}).is_valid()


def test_the_summary_names_a_field_once() -> None:
    lines = error_summary(Sample({"name": "", "size": "a", "own": ""}))["lines"]
    assert [line["text"] for line in lines] == ["Name: this is missing.", "Why: Say why."]


@pytest.mark.parametrize(
    ("path", "way"),
    [
        ("/desk/reopen/", "/desk/"),
        ("/desk/in/1/", "/desk/"),
        ("/bookings/1/cancel/", "/bookings/1/"),
        ("/log-out/", "/"),
    ],
)
def test_an_address_for_a_button_that_is_opened_as_a_page_says_so_and_leads_on(
    house: object, path: str, way: str
) -> None:
    client = Client()
    client.force_login(makers.member(is_keyholder=True))
    answer = client.get(path)
    page = answer.content.decode()
    assert answer.status_code == 405 and answer["Allow"] == "POST"
    assert "This address is only for a button" in page and f'class="inline" href="{way}"' in page
