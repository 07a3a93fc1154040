"""Whatever leads to a person answers three questions: what they are shown, what erasing does, how long it stays."""

from __future__ import annotations

import pytest
from django.apps import apps

from studiodesk.upkeep import privacy


@pytest.mark.parametrize("name", sorted(privacy.TABLES))
def test_every_model_with_a_link_to_a_person_stands_in_the_table(name: str) -> None:
    linked = privacy.models_with_a_person()
    missing = sorted(set(linked) - set(privacy.TABLES[name]))
    assert not missing, f"{name} says nothing of {[(label, linked[label]) for label in missing]}"


@pytest.mark.parametrize("name", sorted(privacy.TABLES))
def test_the_table_names_no_model_that_has_no_link_or_no_longer_exists(name: str) -> None:
    assert set(privacy.TABLES[name]) <= set(privacy.models_with_a_person())
    for label, said in privacy.TABLES[name].items():
        apps.get_model(label)
        assert str(said).strip()


def test_links_are_followed_through_other_models() -> None:
    """A second reckoning, from the database's side: a column that refers to a table of people's things."""
    linked = privacy.models_with_a_person()
    assert linked["studiodesk.Booking"] == "member"
    assert linked["studiodesk.Hold"] == "booking"
    assert linked["studiodesk.MixPart"] == "mix"
    for label in ("studiodesk.Station", "studiodesk.Bath", "studiodesk.SheetSize", "studiodesk.OpeningSpan"):
        assert label not in linked


def test_a_model_that_is_forgotten_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    shorter = {label: said for label, said in privacy.ERASE.items() if label != "studiodesk.Hold"}
    assert set(privacy.models_with_a_person()) - set(shorter) == {"studiodesk.Hold"}


def test_every_field_that_could_name_a_person_without_a_key_is_on_the_list() -> None:
    """Text fields called like a person (asker, actor, member …) in a model that has no link by key."""
    linked = set(privacy.models_with_a_person())
    words = {"asker", "actor", "person", "member", "user", "email", "session_data"}
    for model in apps.get_models():
        if {field.name for field in model._meta.concrete_fields} & words:
            assert model._meta.label in linked, model._meta.label
