"""The clock, signals, forbidden imports, gathered models and refusal codes."""

import ast
from pathlib import Path

import pytest

from .laws import asks_the_clock, forbidden_imports, imported, may_ask_the_clock, refusal_codes, sentence_codes
from .tree import ROOT, Finding, is_layer, listed, product_sources, product_trees

#: Hands on a violated constraint's ``violation_error_code``, which stands literally in a model.
HAND_ON = {"studiodesk/acts.py"}


def test_only_views_tasks_and_commands_ask_the_clock():
    found = [f for name, tree in product_trees() if not may_ask_the_clock(name) for f in asks_the_clock(name, tree)]
    assert not found, listed(found)


def test_the_product_imports_nothing_it_must_not():
    found = [f for name, tree in product_trees() for f in forbidden_imports(name, tree)]
    assert not found, listed(found)


def ungathered(gatherer: ast.Module, areas: list[str]) -> list[str]:
    """The areas whose models the gatherer forgets: Django would ignore their tables without a word."""
    gathered = {what for _, what in imported(gatherer)}
    return [area for area in areas if f"studiodesk.{area}.models" not in gathered]


def test_every_area_s_models_are_gathered():
    areas = sorted(path.parent.name for path in (ROOT / "studiodesk").glob("*/models.py"))
    folders = sorted(path.parent.parent.name for path in (ROOT / "studiodesk").glob("*/models/__init__.py"))
    gatherer = ast.parse((ROOT / "studiodesk/models.py").read_text(encoding="utf-8"))
    assert len(areas + folders) >= 7
    assert ungathered(gatherer, areas + folders) == []


def test_every_model_of_an_area_is_gathered_by_name():
    """Importing one class of a module makes Django see all; naming each keeps the list a table of contents."""
    gatherer = ast.parse((ROOT / "studiodesk/models.py").read_text(encoding="utf-8"))
    gathered = {what for _, what in imported(gatherer)}
    missing = []
    for name, tree in product_trees():
        if is_layer(name, "models"):
            area = Path(name).parts[1]
            for node in tree.body:
                is_model = isinstance(node, ast.ClassDef) and "models.Model" in map(ast.unparse, node.bases)
                if is_model and f"studiodesk.{area}.models.{node.name}" not in gathered:
                    missing.append(Finding(name, node.lineno, f"{node.name} is not in studiodesk/models.py"))
    assert not missing, listed(missing)


def test_every_refusal_code_has_a_sentence_in_its_own_area():
    used: dict[str, Finding] = {}
    unread: list[Finding] = []
    said: dict[str, str] = {}
    for name, tree in product_trees():
        codes, puzzling = refusal_codes(name, tree)
        used |= codes
        unread += [] if name in HAND_ON else puzzling
        if is_layer(name, "words"):
            said |= dict.fromkeys(sentence_codes(tree), Path(name).parts[1])
    found = unread + [finding for code, finding in sorted(used.items()) if code not in said]
    assert not found, listed(found)
    # The area is written in the code itself, so a sentence that moved house is found too.
    assert {code: area for code, area in said.items() if code.split(".")[0] != area} == {}


def test_every_sentence_that_is_written_is_registered():
    """What stands in a ``words.py`` but is never given to ``register`` would be a KeyError on a page."""
    from studiodesk.words import known_codes

    written = {code for name, tree in product_trees() if is_layer(name, "words") for code in sentence_codes(tree)}
    assert len(written) > 20
    assert written - known_codes() == set()


def test_the_product_uses_the_text_functions_django_still_has():
    found = [name for name, source in product_sources() if any(f"u{old}" in source for old in ("gettext", "ngettext"))]
    assert found == []


# ---- each checker finds what it should -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "source",
    [
        "from django.utils import timezone\ntimezone.now()",
        "from django.utils.timezone import now\nnow()",
        "from django.utils.timezone import now as at\nat()",
        "from django.utils import timezone\ntimezone.localdate()",
        "from django.utils import timezone\ntimezone.localtime()",
        "from datetime import datetime\ndatetime.now(UTC)",
        "import datetime\ndatetime.datetime.now()",
        "import datetime as dt\ndt.date.today()",
        "from datetime import date\ndate.today()",
        "import time\ntime.time()",
        "from time import time\ntime()",
        "at = models.DateTimeField(default=timezone.now)",
        "at = models.DateTimeField(auto_now_add=True)",
        "from django.db.models.functions import Now\nx.filter(at=Now())",
    ],
)
def test_the_checker_finds_a_question_to_the_clock(source):
    assert len(asks_the_clock("sample.py", ast.parse(source))) == 1


@pytest.mark.parametrize(
    "source",
    [
        "from django.utils import timezone\ntimezone.localtime(value)",
        "import time\ntime.monotonic()\ntime.sleep(1)",
        "def f(now):\n    return now + timedelta(days=1)",
        "now = facts.now\nspan(now)",
        "datetime.combine(day, time())",
    ],
)
def test_the_checker_lets_a_time_that_was_given_pass(source):
    assert asks_the_clock("sample.py", ast.parse(source)) == []


def test_the_clock_may_be_asked_at_the_edges_only():
    assert may_ask_the_clock("studiodesk/bookings/views.py")
    assert may_ask_the_clock("studiodesk/management/commands/baths.py")
    assert not may_ask_the_clock("studiodesk/bookings/actions.py")
    assert not may_ask_the_clock("studiodesk/bookings/rules/day.py")


@pytest.mark.parametrize(
    "source",
    [
        "from django.db.models.signals import post_save",
        "from django.db.models import signals",
        "from django.contrib.auth.signals import user_logged_in",
        "import django.dispatch",
        "from django.dispatch import receiver",
        "from django.contrib.postgres.fields import ArrayField",
        "from studiodesk.models import Member",
        "from studiodesk import models",
        "from tests.makers import a_member",
    ],
)
def test_the_checker_finds_a_forbidden_import(source):
    assert forbidden_imports("sample.py", ast.parse(source))


def test_the_checker_lets_an_area_s_models_be_imported():
    assert forbidden_imports("sample.py", ast.parse("from studiodesk.people.models import Member")) == []


def test_the_checker_finds_an_area_that_was_not_gathered():
    gatherer = ast.parse("from studiodesk.people.models import Member")
    assert ungathered(gatherer, ["people", "safety"]) == ["safety"]


def test_the_checker_reads_codes_where_they_are_used():
    source = (
        "refuse('a.one', at=now)\nreturn Refusal('a.two' if x else 'a.three')\nRefusal(code='a.four')\n"
        "NoOverlap(name='no_overlap', violation_error_code='a.five')\nrefuse(code)"
    )
    codes, unread = refusal_codes("sample.py", ast.parse(source.replace("return ", "")))
    assert set(codes) == {"a.one", "a.two", "a.three", "a.four", "a.five"}
    assert len(unread) == 1


def test_the_checker_follows_a_helper_that_hands_a_code_on():
    source = (
        "def _about(row, code, **facts):\n    return Refusal(code, {'row': row})\n"
        "def _deeper(*, code):\n    return _about(1, code)\n"
        "_about(1, 'a.one')\n_about(1, code='a.two')\n_deeper(code='a.three')\n_deeper(code=f'a.{x}')\n"
        "Refusal(refused.refusal.code) or form.refuse(refused.refusal)\ndef public(code):\n    refuse(code)"
    )
    codes, unread = refusal_codes("sample.py", ast.parse(source))
    assert set(codes) == {"a.one", "a.two", "a.three"}
    assert [finding.line for finding in unread] == [8, 11]


def test_the_checker_reads_codes_where_they_are_said():
    source = "register({'a.one': Words(_('Taken.')), 'not a code': 1, 'at': 2})"
    assert sentence_codes(ast.parse(source)) == {"a.one"}
    assert sentence_codes(ast.parse("MORE = {'a.two': Words(_('x')), 'a.three': _('A title.')}")) == {"a.two"}
