"""The standard note of a new processor, in the house's own words; staff write theirs over it.

Common practice of a darkroom, not an assessment of any product: the note says so before anything else.  Rinsing an
eye for fifteen minutes is common practice too (eyewash standards name that flow time), given from memory.
"""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from . import rules


def title(processor: Any) -> str:
    return _("Before you work at the %(name)s") % {"name": processor.name}


def _first() -> str:
    return _(
        "The supplier’s current safety data sheet and local regulations come first. They hang beside the processor; "
        "read them before your first evening. Where this note and a data sheet differ, the data sheet is right."
    )


def _every_time() -> list[str]:
    return [
        _("Gloves, eye protection and an apron, each time, also for one print."),
        _("Extraction on before the lids come off. Extraction off or faulty: no wet work, and tell the desk."),
        _("Know where the eyewash is, so that you would find it in the dark."),
        _("No food or drink here, and no chemicals in a food bottle or the fridge."),
        _("Wash your hands when you leave the wet side, and before you touch the tablet or your phone."),
        _("On the skin: rinse at once with plenty of water. In the eye: eyewash, fifteen minutes, and call somebody."),
        _("A rash, a cough or a headache that comes with the work: stop, go out for air, tell the desk."),
        _("Something spilt, or a smell that bites: leave, keep others out, tell the desk."),
    ]


def _never_mix() -> list[str]:
    return [
        _("Acid (stop bath, acid fixer, cleaners) and sulfite developer or fixer: sulfur dioxide."),
        _("Ammonium thiosulfate fixer with a strong acid or a strong alkali: sulfur dioxide or ammonia."),
        _("Hypochlorite (bleach, many cleaners) with fixer or bleach-fix: chlorine compounds."),
        _("Acid goes into water, slowly. Never water into acid."),
    ]


def _of(family: str) -> list[str]:
    if family == "colour":
        return [
            _("Colour developer makes skin allergic, sometimes for good: gloves every time, and report a rash."),
            _("Bleach-fix holds silver and thiosulfate: keep it away from acid and from developer."),
            _("Ferricyanide bleach with strong acid gives hydrogen cyanide: keep the two apart."),
        ]
    return [
        _("Developers with metol or hydroquinone can make skin allergic: gloves or tongs, and report a rash."),
        _("Stop bath is an acid, and its vapour stings: lids on when you pause, never your face over the tray."),
        _("Fixer can give off sulfur dioxide when stop bath is carried into it: let prints drip before they move on."),
        _("Sulfide toner with acid gives hydrogen sulfide: no toning here without staff."),
    ]


def _mixing_and_waste() -> list[str]:
    return [
        _("Keyholders and staff mix, change and replenish. No powder is mixed without local exhaust."),
        _("Spent developer, fixer and bleach-fix each go into their own marked container."),
        _(
            "What holds silver is kept apart. Local rules, the water authority and the waste contractor decide where "
            "it goes; ask staff, and pour nothing away."
        ),
    ]


def _news_begin() -> str:
    return _("New in this version:")


def with_news(text: str, news: str) -> str:
    """A note's body with what is new in it as its first paragraph; as it is if there is nothing to say."""
    news = " ".join(news.split())
    return f"{_news_begin()} {news}\n\n{text}" if news else text


def without_news(text: str) -> str:
    """The body that ``with_news`` was given."""
    first, _gap, rest = text.partition("\n\n")
    return rest if rest and first.startswith(_news_begin()) else text


def _listed(items: list[str]) -> str:
    return "\n".join(f"- {item}" for item in items)


def body(processor: Any) -> str:
    """The note for this processor (a row with its ``process``): paragraphs and lists as ``rules.blocks`` reads them."""
    kinds = rules.families(processor.process.code, processor.process.paper)
    parts = [
        _first(),
        _("Each time:"),
        _listed(_every_time()),
        _("What is in these baths:"),
        _listed([line for kind in kinds for line in _of(kind)]),
        _("Never bring together:"),
        _listed(_never_mix()),
        _("Mixing and waste:"),
        _listed(_mixing_and_waste()),
        _("This program rescues nobody. In danger call the emergency number, then a keyholder."),
    ]
    return "\n\n".join(parts)


def standard(processor: Any) -> tuple[str, str]:
    """(title, body) to begin with."""
    return title(processor), body(processor)
