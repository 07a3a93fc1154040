"""The sentences that the tablet's scripts say, as data on the page."""

from django import template
from django.utils.html import json_script
from django.utils.safestring import SafeString

from studiodesk.chemistry.words.tablet import screen_words

register = template.Library()


@register.simple_tag
def tablet_words() -> SafeString:
    return json_script(screen_words(), "tablet-words")
