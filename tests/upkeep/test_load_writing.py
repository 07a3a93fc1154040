"""How a studio writes, as its file says it: the language, the clock, metric or inch."""

from __future__ import annotations

import pytest

from studiodesk.safety.models import SafetyNote
from studiodesk.stations.models import Studio
from studiodesk.upkeep.actions import load_studio
from studiodesk.upkeep.rules.problems import FileRefused
from studiodesk.upkeep.rules.studio_file import read_studio
from tests.upkeep.files import NOW
from tests.upkeep.test_load import BATH, LEAST, PROCESS

OPEN = b'[opening]\nmonday = ["10:00-22:00"]\n'


def test_a_studio_that_writes_german_gets_its_first_notes_in_german_and_keeps_how_it_writes(db):
    load_studio(
        data=LEAST + b'language = "de"\nclock = "12"\nunits = "inch"\n' + OPEN + BATH + b'dosing = "batch"\n', now=NOW
    )
    assert SafetyNote.objects.get().title == "Bevor du hier arbeitest: P"
    load_studio(
        data=LEAST + OPEN + BATH + b'dosing = "batch"\n', now=NOW
    )  # a file that says nothing of it forgets nothing
    assert tuple(Studio.objects.values_list("language", "clock", "units").get()) == ("de", "12", "inch")


@pytest.mark.parametrize("line", [b'language = "xx"', b'clock = "13"', b'units = "ells"'])
def test_a_way_of_writing_that_there_is_not_is_named(line):
    with pytest.raises(FileRefused) as refused:
        read_studio(LEAST + line + b"\n" + OPEN + PROCESS)
    assert [problem.reason.code for problem in refused.value.problems] == ["upkeep.not_one_of"]
