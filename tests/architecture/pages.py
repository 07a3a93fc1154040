"""The laws of templates: nothing inline, nothing that the policy or the HTML checker would refuse."""

from __future__ import annotations

import re

from .tree import Finding

NOT_MARKUP = re.compile(r"\{#.*?#\}|\{%\s*comment\b.*?endcomment\s*%\}|<!--.*?-->", re.DOTALL)
TEMPLATE_CODE = re.compile(r"\{%.*?%\}|\{\{.*?\}\}", re.DOTALL)
TAG = re.compile(r"<([a-zA-Z][\w-]*)((?:\"[^\"]*\"|'[^']*'|[^<>\"'])*)>", re.DOTALL)
ATTRIBUTE = re.compile(r"(?<![\w\"'=-])([a-zA-Z_:@][\w:.@-]*)(\s*=)?", re.DOTALL)
QUOTED = re.compile(r"\"[^\"]*\"|'[^']*'", re.DOTALL)


def blanked(match: re.Match[str]) -> str:
    """Spaces for what was there, its line breaks kept so that line numbers stay true."""
    return "".join("\n" if sign == "\n" else " " for sign in match.group())


def markup(source: str) -> str:
    """The template's markup alone: comments and template code blanked, quotes inside template code with them."""
    return TEMPLATE_CODE.sub(blanked, NOT_MARKUP.sub(blanked, source))


def inline(name: str, source: str) -> list[Finding]:
    """Inline style, script and handlers, ``hx-*`` without ``data-``, and addresses that run a script."""
    text = markup(source)
    found = []
    for tag in TAG.finditer(text):
        line = text.count("\n", 0, tag.start()) + 1
        element, rest = tag.group(1).lower(), tag.group(2)
        names = {attribute.group(1).lower() for attribute in ATTRIBUTE.finditer(QUOTED.sub(blanked, rest))}
        if element == "style":
            found.append(Finding(name, line, "a <style> element"))
        if element == "script" and "src" not in names and not re.search(r"type\s*=\s*.application/(?:ld\+)?json", rest):
            found.append(Finding(name, line, "a <script> without src"))
        if "style" in names:
            found.append(Finding(name, line, f"style= on <{element}>"))
        found += [Finding(name, line, f"{n}= on <{element}>") for n in sorted(names) if re.fullmatch(r"on[a-z]+", n)]
        found += [Finding(name, line, f"{n} needs data-") for n in sorted(names) if n.startswith("hx-")]
        if re.search(r"=\s*[\"']?\s*javascript:", rest, re.IGNORECASE):
            found.append(Finding(name, line, "an address that runs a script"))
    return found


#: Markup that Python writes (template tags draw SVG) is held to the same laws, string by string.
IN_PYTHON = re.compile(r"<[^<>]*\s(style\s*=|on[a-z]+\s*=|hx-[\w-]+)|<style\b|javascript:", re.IGNORECASE | re.DOTALL)


def inline_in_python(name: str, texts: list[tuple[int, str]]) -> list[Finding]:
    return [
        Finding(name, line, f"markup with {match.group().strip()[-30:]!r}")
        for line, text in texts
        if (match := IN_PYTHON.search(text))
    ]
