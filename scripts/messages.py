"""The sentences of the interface and their translations: one catalogue a language, English and the other side by side.

Usage: ``.venv/bin/python scripts/messages.py VERB [LANGUAGE]``

    update    gather the sentences from code and templates into the catalogues (needs ``xgettext``: Debian's gettext)
    compile   write the ``.mo`` files that the site reads
    check     say what is missing, doubtful, or does not fit its English; exit code 1 if anything is
    read      print every sentence with where it stands, to proof-read

The compiled files are kept beside their source, so that a machine without gettext can run the site.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import polib

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from studiodesk.manner import LANGUAGES  # noqa: E402

LOCALE = ROOT / "studiodesk" / "locale"
ENGLISH = next(iter(LANGUAGES))
PLACE = re.compile(r"%\(\w+\)[ds]|%[ds]|\{\w*\}|%%")
TAG = re.compile(r"</?[a-z][^>]*>")


def catalogue(language: str) -> Path:
    return LOCALE / language / "LC_MESSAGES" / "django.po"


def others(only: str | None = None) -> list[str]:
    """The languages that are translated into."""
    return [only] if only else [code for code in LANGUAGES if code != ENGLISH]


def gather(language: str, into: Path) -> polib.POFile:
    """The sentences as they stand in the code now, merged with what ``into`` has translated."""
    command = [sys.executable, "-m", "django", "makemessages", "--locale", language, "--add-location=file", "--no-wrap"]
    done = subprocess.run(command, cwd=into, check=False, capture_output=True, text=True)
    if done.returncode:
        raise SystemExit(done.stderr)
    return polib.pofile(str(into / "locale" / language / "LC_MESSAGES" / "django.po"), wrapwidth=0)


def faults_of(entry: polib.POEntry) -> Iterator[str]:
    """What is wrong with one translation."""
    given = list(entry.msgstr_plural.values()) if entry.msgid_plural else [entry.msgstr]
    if not all(given):
        yield "is not translated"
        return
    if entry.fuzzy:
        yield "is marked as doubtful"
    whole = entry.msgid_plural or entry.msgid
    wanted = set(PLACE.findall(whole))
    for number, text in enumerate(given):
        # The singular may say "one" instead of the number.
        missing = wanted - set(PLACE.findall(text)) if number == len(given) - 1 else set()
        unknown = set(PLACE.findall(text)) - wanted - set(PLACE.findall(entry.msgid))
        if missing or unknown:
            yield f"has other places: {', '.join(sorted(missing | unknown))}"
        if sorted(TAG.findall(text)) != sorted(TAG.findall(entry.msgid if number == 0 else whole)):
            yield "has other tags"
        if text.strip() != text and entry.msgid.strip() == entry.msgid:
            yield "begins or ends with a blank"


def check(language: str) -> list[str]:
    """Everything wrong with a catalogue: its translations, what the code says besides, and the compiled file."""
    path = catalogue(language)
    kept = polib.pofile(str(path), wrapwidth=0)
    found = [f"{entry.msgid!r} {fault}" for entry in kept if not entry.obsolete for fault in faults_of(entry)]
    found += [f"{entry.msgid!r} is said no more" for entry in kept.obsolete_entries()]
    if path.with_suffix(".mo").read_bytes() != kept.to_binary():
        found.append("the compiled file is of another day: scripts/messages.py compile")
    if shutil.which("xgettext") is None:
        print("not checked: whether every sentence of the code is in the catalogue (no xgettext here)")
        return found
    there = {(entry.msgctxt, entry.msgid) for entry in kept if not entry.obsolete}
    said = {(entry.msgctxt, entry.msgid) for entry in _said(language)}
    found += [f"{msgid!r} is not in the catalogue" for _context, msgid in sorted(said - there, key=str)]
    found += [f"{msgid!r} is said nowhere" for _context, msgid in sorted(there - said, key=str)]
    return found


def _said(language: str) -> list[polib.POEntry]:
    """What the code says now, gathered in a copy so that nothing here changes."""
    with tempfile.TemporaryDirectory() as scratch:
        copy = Path(scratch) / "studiodesk"
        shutil.copytree(ROOT / "studiodesk", copy, ignore=shutil.ignore_patterns("__pycache__", "locale", "static"))
        (copy / "locale").mkdir()
        return [entry for entry in gather(language, copy) if not entry.obsolete]


def update(language: str) -> None:
    path = catalogue(language)
    path.parent.mkdir(parents=True, exist_ok=True)
    found = gather(language, ROOT / "studiodesk")
    found.metadata = {
        "Content-Type": "text/plain; charset=UTF-8",
        "Content-Transfer-Encoding": "8bit",
        "Language": language,
        "Plural-Forms": "nplurals=2; plural=(n != 1);",
    }
    found.header = "The interface of studiodesk, English and translation side by side."
    found.metadata_is_fuzzy = False
    for entry in found.obsolete_entries():
        found.remove(entry)
    for entry in found.fuzzy_entries():  # a guess from a like sentence is worse than a gap
        entry.flags.remove("fuzzy")
        entry.msgstr, entry.previous_msgid, entry.previous_msgid_plural = "", None, None
        entry.msgstr_plural = dict.fromkeys(entry.msgstr_plural, "")
    found.save(str(path))


def main(arguments: list[str]) -> int:
    verb, *rest = arguments or ["check"]
    wrong = False
    for language in others(rest[0] if rest else None):
        if verb == "update":
            update(language)
        elif verb == "compile":
            polib.pofile(str(catalogue(language)), wrapwidth=0).save_as_mofile(
                str(catalogue(language).with_suffix(".mo"))
            )
        elif verb == "check":
            found = check(language)
            wrong = wrong or bool(found)
            for line in found:
                print(f"{language}: {line}")
        elif verb == "read":
            for entry in polib.pofile(str(catalogue(language)), wrapwidth=0):
                where = ", ".join(sorted({file for file, _line in entry.occurrences}))
                print(f"{where}\n  {entry.msgid}\n  {entry.msgstr or ' | '.join(entry.msgstr_plural.values())}\n")
        else:
            print(__doc__)
            return 2
    return int(wrong)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
