from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm


class NoteForm(HouseForm):
    title = forms.CharField(label=_("Title"), max_length=200)
    body = forms.CharField(
        label=_("The note"),
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 24}),
        help_text=_("An empty line parts paragraphs; lines that begin with a dash and a space become a list."),
    )
    news = forms.CharField(
        label=_("What is new"),
        max_length=300,
        required=False,
        help_text=_("One or two sentences for whoever has read the note before. They stand at its top."),
    )
    field_order = ("title", "news", "body")


class ReadForm(HouseForm):
    """Which version was on the page when the button was pressed."""

    version = forms.IntegerField(min_value=1, max_value=2_000_000_000)
