"""Every page in the second language, and with longer words: nothing stays English, nothing runs out of its page."""

from __future__ import annotations

import re
from typing import Any

import polib
import pytest
from bs4 import BeautifulSoup, Comment, NavigableString
from django.apps import apps
from django.conf import settings
from django.db.models import CharField, TextField
from django.test import Client
from django.utils import translation
from django.utils.translation import trans_real

from studiodesk.people.models import Member
from studiodesk.stations.models import Studio
from tests.statement import keeps

from .conftest import page_of
from .lived_in import lived_in
from .pages import TABLET, TALES
from .people import log_in

CATALOGUE = f"{settings.LOCALE_PATHS[0]}/de/LC_MESSAGES/django.po"
on_one_engine = pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
PLACE = re.compile(r"%\(\w+\)[ds]|%%|\{\w*\}|</?[a-z][^>]*>")
SAID_ALOUD = ("aria-label", "title", "alt", "placeholder", "data-no-answer", "data-stale")


def english_only() -> set[str]:
    """Sentences of more than one word that German says otherwise, without those that have places."""
    catalogue = polib.pofile(CATALOGUE)
    both = {entry.msgid for entry in catalogue if entry.msgid == entry.msgstr}
    texts = {text for entry in catalogue for text in (entry.msgid, entry.msgid_plural) if text}
    said = {text for text in texts if not PLACE.search(text)}
    return {text.strip() for text in said - both if " " in text.strip()}


def what_people_wrote() -> set[str]:
    """Names and notes of this studio: in no catalogue, though a sentence of the interface may read the same."""
    found: set[str] = set()
    for model in apps.get_app_config("studiodesk").get_models():
        for field in model._meta.get_fields():
            if isinstance(field, CharField | TextField):
                texts = model._default_manager.values_list(field.name, flat=True).distinct()
                lines = (line for text in texts for line in str(text).splitlines())
                found |= {" ".join(line.removeprefix("- ").split()) for line in lines}
    return found


def words_of(page: BeautifulSoup) -> set[str]:
    """Every piece of text and every word that is read aloud."""
    found = {
        " ".join(text.split())
        for text in page.find_all(string=True)
        if isinstance(text, NavigableString) and not isinstance(text, Comment)
    }
    for name in SAID_ALOUD:
        found |= {" ".join(tag[name].split()) for tag in page.find_all(attrs={name: True})}
    return found


@on_one_engine
def test_no_page_says_in_english_what_german_has_words_for(site: Any) -> None:
    places, english, wrong = lived_in(), english_only(), []
    named = what_people_wrote()
    Studio.objects.update(language="de")
    Member.objects.update(language="de")
    for role, paths in {**TALES, "keyholder": [*TALES["keyholder"], *TABLET]}.items():
        client = Client(headers={"accept-language": "de"})
        if role != "stranger":
            client.force_login(Member.objects.get(name=role.title()))
        for path in paths:
            answer = client.get(path.format(**places), follow=True)
            page = BeautifulSoup(answer.content, "html.parser")
            assert page.html["lang"] == "de", path
            wrong += [f"{role} {path}: {text}" for text in sorted(words_of(page) & english - named)]
    assert not wrong, "\n".join(wrong)


def stretched(text: str) -> str:
    """Each vowel twice and with a mark, which makes words longer by a third to a half; places and tags stay."""
    parts = re.split(f"({PLACE.pattern})", text)
    return "".join(part if PLACE.fullmatch(part) else part.translate(MARKS) for part in parts)


VOWELS = {"a": "âa", "e": "ée", "i": "îi", "o": "øo", "u": "üu", "A": "ÂA", "E": "ÉE", "I": "ÎI", "O": "ØO"}
MARKS = str.maketrans(VOWELS)


@pytest.fixture
def pseudo_locale(tmp_path: Any, monkeypatch: pytest.MonkeyPatch) -> Any:
    """In place of German: every English sentence, stretched (a pseudo-locale, common practice in localization)."""
    catalogue = polib.pofile(CATALOGUE)
    for entry in catalogue:
        if entry.msgctxt == "how a date is written":
            entry.msgstr = entry.msgid
        elif entry.msgid_plural:
            entry.msgstr_plural = {0: stretched(entry.msgid), 1: stretched(entry.msgid_plural)}
        else:
            entry.msgstr = stretched(entry.msgid)
    folder = tmp_path / "locale" / "de" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    catalogue.save_as_mofile(str(folder / "django.mo"))
    monkeypatch.setattr(settings, "LOCALE_PATHS", [str(tmp_path / "locale")])
    trans_real._translations.clear()
    translation.activate("en-gb")
    yield
    trans_real._translations.clear()


@keeps("words")
@on_one_engine
def test_longer_words_run_out_of_no_page(pseudo_locale: Any, site: Any, browser: Any) -> None:
    """At 320 px (WCAG 2.2, 1.4.10): no page has to be scrolled sideways, and every word comes from the catalogue."""
    places, wrong = lived_in(), []
    Studio.objects.update(language="de")
    Member.objects.update(language="de")
    for role in ("stranger", "member", "tutor", "staff", "manager"):
        page = page_of(browser, width=320, height=800, locale="de-DE" if role == "stranger" else "en-GB")
        if role != "stranger":
            log_in(page, site, role)  # as the browser asks: in English
        for path in TALES[role]:
            page.goto(site.url(path.format(**places)))
            wide, room = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
            if wide > room:
                wrong.append(f"{role} {path} is {wide} px wide")
            if not re.search("[âéîøü]", page.locator("h1").inner_text() + page.locator("footer").inner_text()):
                wrong.append(f"{role} {path} is not in the pseudo-locale")
        page.context.close()
    assert not wrong, "\n".join(wrong)
