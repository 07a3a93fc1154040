"""Paper that a class or a group uses, as a form has it: rows of a size in mm and sheets a head."""

from __future__ import annotations

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm

PAPER_ROWS = (1, 2)


def add_paper(form: HouseForm) -> None:
    """Its rows at the end of ``form``."""
    for row in PAPER_ROWS:
        form.fields[f"paper_{row}"] = forms.CharField(
            label=_("Paper %(row)s, in mm") % {"row": row},
            required=False,
            max_length=20,
            help_text=_("Such as 203 x 254. From it comes what the class will ask of the baths."),
        )
        form.fields[f"sheets_{row}"] = forms.IntegerField(
            label=_("Sheets of paper %(row)s a head") % {"row": row}, min_value=1, max_value=500, required=False
        )


def papers_of(form: HouseForm) -> list[tuple[int, int, int]]:
    """(mm, mm, sheets a head) of every row that is filled in; what cannot be read is said at its field."""
    found = [paper for row in PAPER_ROWS if (paper := _paper(form, row)) is not None]
    if len({paper[:2] for paper in found}) < len(found):
        form.add_error(f"paper_{PAPER_ROWS[-1]}", _("This size of paper stands there already."))
    return found


def _paper(form: HouseForm, row: int) -> tuple[int, int, int] | None:
    size, sheets = form.cleaned_data.get(f"paper_{row}", ""), form.cleaned_data.get(f"sheets_{row}")
    if not size and not sheets:
        return None
    edges = [part.strip() for part in size.lower().replace("×", "x").removesuffix("mm").split("x")]
    if len(edges) != 2 or not all(edge.isascii() and edge.isdigit() and 0 < int(edge) < 10_000 for edge in edges):
        form.add_error(f"paper_{row}", ValidationError(_("Write both edges in mm, such as 203 x 254.")))
        return None
    if not sheets:
        form.add_error(f"sheets_{row}", ValidationError(_("Say how many sheets a head.")))
        return None
    return int(edges[0]), int(edges[1]), sheets
