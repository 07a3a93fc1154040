"""``[studio] opens_by_shifts`` in a studio's file."""

from typing import Any

import pytest

from studiodesk.stations.models import Studio
from tests.upkeep.files import example, loaded, refusals


def with_line(line: bytes) -> bytes:
    return example("studio.toml").replace(b"[studio]\n", b"[studio]\n" + line + b"\n")


def test_a_studio_opens_by_its_hours_unless_its_file_says_otherwise(db: Any) -> None:
    loaded()
    assert not Studio.objects.get().opens_by_shifts
    assert loaded(with_line(b"opens_by_shifts = true")).warnings == []
    assert Studio.objects.get().opens_by_shifts
    assert loaded(with_line(b"opens_by_shifts = true")).wrote is False
    loaded(with_line(b"opens_by_shifts = false"))
    assert not Studio.objects.get().opens_by_shifts
    loaded(with_line(b"opens_by_shifts = true"))
    loaded()  # what is left out is the usual
    assert not Studio.objects.get().opens_by_shifts


@pytest.mark.parametrize("value", [b'"true"', b"1", b"[true]", b'""'])
def test_anything_but_true_and_false_is_refused_with_its_key(db: Any, value: bytes) -> None:
    (said,) = refusals(with_line(b"opens_by_shifts = " + value))
    assert "studio.opens_by_shifts" in said and "neither yes nor no" in said and "Write true or false" in said
    assert not Studio.objects.exists()
