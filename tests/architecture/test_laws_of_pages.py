"""Nothing inline in any template, and htmx attributes in the form that the HTML checker accepts."""

import ast

import pytest

from .pages import inline, inline_in_python
from .tree import files, listed, name_of, product_trees


def test_no_template_has_anything_inline():
    found = [
        finding
        for path in files((".html", ".svg"), ("studiodesk",))
        for finding in inline(name_of(path), path.read_text(encoding="utf-8"))
    ]
    assert not found, listed(found)


def texts(tree: ast.Module) -> list[tuple[int, str]]:
    return [
        (node.lineno, node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]


def test_no_python_writes_markup_with_anything_inline():
    found = [finding for name, tree in product_trees() for finding in inline_in_python(name, texts(tree))]
    assert not found, listed(found)


@pytest.mark.parametrize(
    "source",
    [
        '<p style="color: red">x</p>',
        "<p class=a style='color: red'>x</p>",
        '<p class="{% if a == "b" %}c{% endif %}" style="x">x</p>',
        "<p\n  style = {{ colour }}>x</p>",
        "<style>p { color: red }</style>",
        "<script>alert(1)</script>",
        '<button onclick="go()">x</button>',
        '<input {% if a > b %}checked{% endif %} onchange="go()">',
        '<a href="javascript:go()">x</a>',
        '<div hx-get="/board">x</div>',
        '<svg><rect STYLE="fill: red"/></svg>',
    ],
)
def test_the_checker_finds_what_is_inline(source):
    assert len(inline("sample.html", source)) == 1


@pytest.mark.parametrize(
    "source",
    [
        '<div data-hx-get="/board" data-hx-on="x" data-style="y">x</div>',
        '<script src="{% static "studiodesk/htmx.js" %}" defer></script>',
        '<script type="application/json" id="facts">{}</script>',
        '{# <p style="x"> #}<!-- <p style="x"> -->{% comment %}<p onclick="x">{% endcomment %}<p>x</p>',
        '<a href="/find?style=x&amp;onclick=y" title="on=1 style=2">x</a>',
        '<rect width="4" height="{{ step.height }}" class="taken"/>',
        "<p>1 < 2 and style= is a word in a text</p>",
    ],
)
def test_the_checker_lets_what_is_not_inline_pass(source):
    assert inline("sample.html", source) == []


def test_the_checker_names_the_line():
    assert inline("sample.html", "<p>\n{% comment %}\n\n{% endcomment %}<b\n style='x'>")[0].line == 4


def test_the_checker_finds_inline_markup_that_python_writes():
    tree = ast.parse("""a = '<rect style="fill: red">'\nb = f'<b onclick="{x}">'\nc = '<rect class="style">'""")
    assert [finding.line for finding in inline_in_python("sample.py", texts(tree))] == [1, 2]
