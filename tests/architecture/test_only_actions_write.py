"""Laws 2 and 4 of the house: only ``actions.py`` writes, and a row's save names its fields."""

import ast

import pytest

from .tree import files, is_layer, listed, name_of, product_trees
from .writers import bare_saves, many_to_many_names, overrides, writes


def test_only_actions_write():
    trees = list(product_trees())
    many = many_to_many_names(tree for name, tree in trees if is_layer(name, "models"))
    found = [f for name, tree in trees if not is_layer(name, "actions") for f in writes(name, tree, many)]
    assert not found, listed(found)


def test_no_save_is_bare():
    found = [f for name, tree in product_trees() for f in bare_saves(name, tree)]
    assert not found, listed(found)


def test_nothing_overrides_a_writer():
    found = [f for name, tree in product_trees() for f in overrides(name, tree)]
    assert not found, listed(found)


def test_there_is_something_to_look_at():
    """The three tests above would pass on an empty folder; this one would not."""
    names = {name_of(path) for path in files((".py",), ("studiodesk",))}
    assert {"studiodesk/models.py", "studiodesk/bookings/models/holds.py", "studiodesk/answers.py"} <= names


@pytest.mark.parametrize(
    "source",
    [
        "Booking.objects.create(name='x')",
        "Booking.objects.bulk_create(rows)",
        "station.bookings.create(name='x')",
        "Booking.objects.get_or_create(number=1)",
        "Booking._default_manager.update_or_create(number=1)",
        "Booking.objects.filter(id=1).update(name='x')",
        "rows = holds_of(member)\nrows.update(ends=now)",
        "rows.update(**values)",
        "booking.save()",
        "booking.save(update_fields=['name'])",
        "form.save()",
        "await booking.asave()",
        "Booking.objects.filter(id=1).delete()",
        "booking.delete()",
        "Booking.objects.bulk_update(rows, ['name'])",
        "Member.objects.create_user('a@example.org')",
        "station.formats.add(size)",
        "size.stations.set([])",
        "cursor.execute('UPDATE booking SET name = 1')",
        "cursor.execute(f'delete from {table}')",
    ],
)
def test_the_checker_finds_a_write(source):
    models = ast.parse("formats = models.ManyToManyField(Size, related_name='stations')")
    tree = ast.parse(source if "await" not in source else f"async def f():\n    {source}")
    assert len(writes("sample.py", tree, many_to_many_names([models]))) == 1


@pytest.mark.parametrize(
    "source",
    [
        "facts = {}\nfacts.update(other)",
        "facts = {}\nfacts.update(a=1)",
        "path, args, kwargs = super().deconstruct()\nkwargs.update(key=1)",
        "digest = hashlib.sha256()\ndigest.update(b'x')",
        "seen = set()\nseen.add(1)",
        "context.update(other)",
        "bar.update(1)",
        "cache.delete('board')",
        "request.session.save()",
        "cursor.execute('SELECT 1')",
        "cursor.execute(sql)",
        "list(Booking.objects.filter(id=1).order_by('id'))",
    ],
)
def test_the_checker_lets_what_writes_no_row_pass(source):
    assert writes("sample.py", ast.parse(source)) == []


def test_the_checker_finds_a_bare_save_and_lets_a_named_one_pass():
    assert len(bare_saves("sample.py", ast.parse("row.save()\nrow.save(using='x')\nrow.save(force_insert=False)"))) == 3
    assert bare_saves("sample.py", ast.parse("row.save(update_fields=['a'])\nrow.save(force_insert=True)")) == []


def test_the_checker_finds_an_override():
    source = "class Row(Model):\n    def save(self): ...\n    def delete(self): ...\n    def name(self): ..."
    assert len(overrides("sample.py", ast.parse(source))) == 2


@pytest.mark.parametrize(
    ("name", "is_it"),
    [
        ("studiodesk/bookings/actions.py", True),
        ("studiodesk/chemistry/actions/feeds.py", True),
        ("studiodesk/bookings/views.py", False),
        ("studiodesk/actions.py", False),
        ("studiodesk/bookings/actions_helper.py", False),
        ("studiodesk_site/bookings/actions.py", False),
    ],
)
def test_a_layer_is_its_file_or_its_folder(name, is_it):
    assert is_layer(name, "actions") is is_it
