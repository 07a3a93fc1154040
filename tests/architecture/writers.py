"""Law 2 and 4: only ``actions.py`` writes, and never with a bare ``save()``.

Python does not say what a name is, so the checker reads how a thing is used:

* the methods that only a manager, a query set or a row has are flagged wherever they are called;
* ``update`` is flagged by its arguments: a query set's takes keywords only, the ones of a dict, set or hash take one
  positional argument.  ``dict.update(a=1)`` on a name that the same function made as a dict is let through;
* ``add``, ``set``, ``remove`` and ``clear`` are flagged on attributes that some model names as many-to-many;
* ``execute`` is flagged when its first argument is a text that begins with a verb that changes rows.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Set

from .tree import Finding

ROW_WRITES = {"save", "asave", "save_base"}
SET_WRITES = {
    *("create", "acreate", "bulk_create", "abulk_create", "bulk_update", "abulk_update"),
    *("get_or_create", "aget_or_create", "update_or_create", "aupdate_or_create", "create_user", "create_superuser"),
    *("delete", "adelete", "_raw_delete", "raw"),
}
UPDATES = {"update", "aupdate", "_update"}
MANY_WRITES = {"add", "set", "remove", "clear", "aadd", "aset", "aremove", "aclear"}
#: Not rows: Django's cache and the session's own dict (a GET may touch the session's own row).
NOT_ROWS = {"cache", "session"}
WRITING_SQL = re.compile(r"\s*(insert|update|delete|replace|truncate|merge|copy)\b", re.IGNORECASE)
#: A dict by Python's own convention.
ALWAYS_DICTS = {"kwargs"}
DICT_MAKERS = {"dict", "set", "Counter", "defaultdict", "OrderedDict", "sha256", "sha512", "blake2b", "new", "md5"}


def last_name(node: ast.expr) -> str:
    """The name a person reads just before the dot: ``x`` of ``x``, ``b`` of ``a.b``, ``f`` of ``a.f(…)``."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        return node.attr
    if isinstance(node, ast.Call):
        return last_name(node.func)
    return ""


def is_dict_like(value: ast.expr | None) -> bool:
    if isinstance(value, (ast.Dict, ast.Set, ast.DictComp, ast.SetComp)):
        return True
    return isinstance(value, ast.Call) and last_name(value.func) in DICT_MAKERS


def dict_names(tree: ast.AST) -> set[str]:
    """Names that are given a dict, a set or a hash and nothing else anywhere in this file."""
    good: set[str] = set()
    bad: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Name):
                    (good if is_dict_like(node.value) else bad).add(target.id)
        elif isinstance(node, (ast.AnnAssign, ast.NamedExpr)) and isinstance(node.target, ast.Name):
            (good if is_dict_like(node.value) else bad).add(node.target.id)
        elif isinstance(node, ast.For) and isinstance(node.target, ast.Name):
            bad.add(node.target.id)
    return (good - bad) | ALWAYS_DICTS


def many_to_many_names(models: Iterable[ast.Module]) -> set[str]:
    """The attribute names under which some model reaches a many-to-many relation, from both ends."""
    names: set[str] = set()
    for tree in models:
        for node in ast.walk(tree):
            if not (isinstance(node, ast.Assign) and isinstance(node.value, ast.Call)):
                continue
            if last_name(node.value.func) == "ManyToManyField":
                names |= {target.id for target in node.targets if isinstance(target, ast.Name)}
                for keyword in node.value.keywords:
                    if keyword.arg == "related_name" and isinstance(keyword.value, ast.Constant):
                        names.add(str(keyword.value.value))
    return names


def text_of(node: ast.expr) -> str:
    """The beginning of a literal or f-string, as far as it stands in the source."""
    if isinstance(node, ast.JoinedStr) and node.values:
        return text_of(node.values[0])
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def written_by(call: ast.Call, dicts: Set[str], many: Set[str]) -> str | None:
    """What this call writes, in words, or None if it writes no row."""
    if not isinstance(call.func, ast.Attribute):
        return None
    method, receiver = call.func.attr, call.func.value
    name = last_name(receiver)
    if name in NOT_ROWS:
        return None
    if method in ROW_WRITES or method in SET_WRITES:
        return f"{name}.{method}(…) writes"
    if method in UPDATES and not call.args and call.keywords and name not in dicts:
        return f"{name}.{method}(keywords) writes, as a query set does"
    if method in MANY_WRITES and isinstance(receiver, ast.Attribute) and name in many:
        return f"{name}.{method}(…) writes a many-to-many relation"
    if method in {"execute", "executemany"} and call.args and WRITING_SQL.match(text_of(call.args[0])):
        return f"{name}.{method}(…) runs SQL that changes rows"
    return None


def writes(name: str, tree: ast.Module, many: Set[str] = frozenset()) -> list[Finding]:
    """Every write in a file, as findings."""
    dicts = dict_names(tree)
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and (what := written_by(node, dicts, many)):
            found.append(Finding(name, node.lineno, what))
    return sorted(found, key=lambda finding: finding.line)


def bare_saves(name: str, tree: ast.Module) -> list[Finding]:
    """``save()`` of a row without ``update_fields`` (``force_insert=True`` is an insertion and passes)."""
    found = []
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
            continue
        keywords = {keyword.arg: ast.unparse(keyword.value) for keyword in node.keywords}
        inserts = keywords.get("force_insert") == "True"
        if node.func.attr in ROW_WRITES and "update_fields" not in keywords and not inserts:
            found.append(Finding(name, node.lineno, f"{last_name(node.func.value)}.save() without update_fields"))
    return found


def overrides(name: str, tree: ast.Module) -> list[Finding]:
    """Methods named like Django's own writers: a row is written by an act, not by a hook on the row."""
    ours = ROW_WRITES | {
        "delete",
        "adelete",
        "update",
        "bulk_create",
        "get_or_create",
        "create_user",
        "create_superuser",
    }
    return [
        Finding(name, method.lineno, f"{node.name}.{method.name}() overrides a writer")
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef)
        for method in node.body
        if isinstance(method, (ast.FunctionDef, ast.AsyncFunctionDef)) and method.name in ours
    ]
