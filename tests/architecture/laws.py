"""The laws about the clock, signals, imports and refusal codes, each as a function from a syntax tree to findings."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping

from .tree import Finding, is_layer
from .writers import last_name

CODE = re.compile(r"[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*")

CLOCK = {
    "timezone": {"now", "localdate", "localtime"},
    "datetime": {"now", "utcnow", "today"},
    "date": {"today"},
    "time": {"time", "time_ns", "localtime", "gmtime"},
}
CLOCK_ARGUMENTS = {"auto_now", "auto_now_add"}


def may_ask_the_clock(name: str) -> bool:
    """Views, the timetable, commands, the admin's buttons, middleware and the demo's seeder are where a now begins."""
    return (
        is_layer(name, "views")
        or name in {"studiodesk/tasks.py", "studiodesk/admin.py", "studiodesk/middleware.py"}
        or name.startswith(("studiodesk/management/commands/", "studiodesk/upkeep/demo"))
    )


def _imported_clocks(tree: ast.Module) -> dict[str, str]:
    """Bare names by which this file reaches a clock: ``from time import time as t`` gives {"t": "time.time"}."""
    names: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            tail = node.module.rpartition(".")[2]
            for alias in node.names:
                if tail in {"timezone", "time"} and alias.name in CLOCK.get(tail, set()):
                    names[alias.asname or alias.name] = f"{tail}.{alias.name}"
                if node.module == "django.db.models.functions" and alias.name == "Now":
                    names[alias.asname or alias.name] = "Now (the database's clock)"
    return names


def asks_the_clock(name: str, tree: ast.Module) -> list[Finding]:
    """Every place that asks the time, or hands on something that will (``default=timezone.now``, ``auto_now``)."""
    bare = _imported_clocks(tree)
    found = []
    converting = {  # localtime(value) turns a time into local time: it asks nothing
        id(node.func)
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and node.args and last_name(node.func) != "now"
    }
    for node in ast.walk(tree):
        what = ""
        if isinstance(node, ast.Attribute) and node.attr in CLOCK.get(last_name(node.value), set()):
            if id(node) not in converting:
                what = f"{last_name(node.value)}.{node.attr}"
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in bare:
            if id(node) not in converting:
                what = bare[node.id]
        elif isinstance(node, ast.keyword) and node.arg in CLOCK_ARGUMENTS:
            what = str(node.arg)
        if what:
            found.append(Finding(name, node.lineno, f"asks the clock: {what}"))
    return found


def imported(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """(line, dotted name) of everything a file imports; ``from a import b`` gives both ``a`` and ``a.b``."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = "." * node.level + (node.module or "")
            yield node.lineno, base
            yield from ((node.lineno, f"{base}.{alias.name}".lstrip(".")) for alias in node.names)


#: Dotted beginnings that no product file may import, and why.
NEVER = {
    r"django\.dispatch\b": "no signals: what must happen happens in the act",
    r"django\.(.+\.)?signals\b": "no signals: what must happen happens in the act",
    r"django\.contrib\.postgres\b": "a studio on SQLite alone has to work",
    r"studiodesk\.models\b": "studiodesk.models gathers for Django alone",
    r"tests\b": "the product knows nothing of its tests",
}


def forbidden_imports(name: str, tree: ast.Module) -> list[Finding]:
    return [
        Finding(name, line, f"imports {what}: {why}")
        for line, what in imported(tree)
        for pattern, why in NEVER.items()
        if re.match(pattern, what)
    ]


def _code_given(call: ast.Call, makers: Mapping[str, tuple[int, str]]) -> ast.expr | None:
    """The argument of a call that is its refusal code, or None if the call makes no refusal."""
    function = call.func
    if isinstance(function, ast.Attribute) and last_name(function.value) not in {"answers", "self", "cls"}:
        return None  # form.refuse(refusal) shows one, it makes none
    place, name = makers.get(last_name(function), (-1, ""))
    if place < 0:
        return None
    if place < len(call.args):
        return call.args[place]
    return next((keyword.value for keyword in call.keywords if keyword.arg == name), None)


def _makers(tree: ast.Module) -> dict[str, tuple[int, str]]:
    """What makes a refusal, with the place and name of its code: ``Refusal``, ``refuse``, and private helpers of
    this file that hand one of their parameters on.  A public helper would be called where nobody reads its codes."""
    makers = {"Refusal": (0, "code"), "refuse": (0, "code")}
    functions = [
        node
        for node in ast.walk(tree)
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))
        and (node.name.startswith("_") or node.name in makers)
    ]
    for _ in range(3):  # a helper of a helper of a helper is deep enough
        for function in functions:
            names = [parameter.arg for parameter in (*function.args.posonlyargs, *function.args.args)]
            names = names[1:] if names[:1] in (["self"], ["cls"]) else names
            named_only = [parameter.arg for parameter in function.args.kwonlyargs]
            for call in ast.walk(function):
                code = _code_given(call, makers) if isinstance(call, ast.Call) else None
                if isinstance(code, ast.Name) and code.id in names + named_only:
                    place = names.index(code.id) if code.id in names else len(names) + 99
                    makers.setdefault(function.name, (place, code.id))
    return makers


def _is_handed_on(tree: ast.Module, makers: Mapping[str, tuple[int, str]]) -> set[int]:
    """The ids of the code arguments inside the helpers themselves: their callers are read instead."""
    return {
        id(code)
        for function in ast.walk(tree)
        if isinstance(function, (ast.FunctionDef, ast.AsyncFunctionDef)) and function.name in makers
        for call in ast.walk(function)
        if isinstance(call, ast.Call)
        and isinstance(code := _code_given(call, makers), ast.Name)
        and code.id == makers[function.name][1]
    }


def refusal_codes(name: str, tree: ast.Module) -> tuple[dict[str, Finding], list[Finding]]:
    """The literal codes of a file's refusals, and the refusals whose code cannot be read from the source.

    A conditional between literals counts as each of them; another refusal's ``.code`` is read where that one is made.
    A constraint's ``violation_error_code`` counts where it has the form of a code: ``acts.py`` hands it on.
    """
    codes: dict[str, Finding] = {}
    unread: list[Finding] = []
    makers = _makers(tree)
    handed_on = _is_handed_on(tree, makers)

    def take(value: ast.expr) -> bool:
        if isinstance(value, ast.Constant) and isinstance(value.value, str):
            codes.setdefault(value.value, Finding(name, value.lineno, value.value))
            return True
        if isinstance(value, ast.IfExp):
            return take(value.body) and take(value.orelse)
        return id(value) in handed_on or (isinstance(value, ast.Attribute) and value.attr == "code")

    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            given = _code_given(node, makers)
            if given is not None and not take(given):
                unread.append(Finding(name, node.lineno, "a refusal code that is no literal"))
        elif isinstance(node, ast.keyword) and node.arg == "violation_error_code":
            code = node.value.value if isinstance(node.value, ast.Constant) else None
            if isinstance(code, str) and CODE.fullmatch(code):
                take(node.value)
    return codes, unread


def sentence_codes(tree: ast.Module) -> set[str]:
    """The codes that a ``words.py`` has sentences for: the keys of its dicts whose value is a ``Words(…)``."""
    return {
        key.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Dict)
        for key, value in zip(node.keys, node.values, strict=True)
        if isinstance(key, ast.Constant) and isinstance(key.value, str) and CODE.fullmatch(key.value)
        if isinstance(value, ast.Call) and last_name(value.func) == "Words"
    }
