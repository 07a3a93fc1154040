"""What is checked so that everybody can use the site: the page that says so and the tests that do it read this list.

A test names what it keeps (``tests.statement.keeps``). A line here that no test keeps fails the build, and so does a
test that keeps what stands nowhere here. The numbers are those the tests measure with.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

#: When people last went through the pages with these checks and read what they say.
LOOKED_AT = date(2026, 11, 27)
#: CSS pixels: the least that is pressed, what is pressed elsewhere, and on the tablet beside a processor.
LEAST, HIGH, WET = 24, 44, 72
WIDTHS, DARK, TABLET_WIDTHS = (320, 768, 1366), (320,), (768, 1280)
#: A keyboard user books a time that is known to them with no more presses.
MOST_KEYS = 25


@dataclass(frozen=True)
class Check:
    """``what`` holds, and ``how`` that is found out."""

    id: str
    what: str | Promise
    how: str | Promise
    figures: dict[str, int]

    def __init__(self, code: str, what: str | Promise, how: str | Promise, **figures: int) -> None:
        object.__setattr__(self, "id", code)
        object.__setattr__(self, "what", what)
        object.__setattr__(self, "how", how)
        object.__setattr__(self, "figures", figures)

    @property
    def says(self) -> tuple[str, str]:
        """Both as they stand on the page."""
        return str(self.what) % self.figures, str(self.how) % self.figures


CHECKS = (
    Check(
        "axe",
        _("No page breaks a rule of WCAG 2.2, levels A and AA, that a program can judge."),
        _(
            "axe-core, in Chromium, on every page as everybody whose page differs, %(narrow)d, %(middle)d and %(wide)d "
            "pixels wide and in the dark; the tablet's pages in each of its lights."
        ),
        narrow=WIDTHS[0],
        middle=WIDTHS[1],
        wide=WIDTHS[2],
    ),
    Check(
        "contrast",
        _("Text, lines and signs stand out from their ground."),
        _("Reckoned from the colours by the formula of WCAG, also where letters stand in a drawing."),
    ),
    Check(
        "html",
        _("Every page is sound HTML, and so is the piece that the desk refreshes."),
        _("The Nu HTML checker of the W3C, with style sheets."),
    ),
    Check(
        "targets",
        _(
            "Buttons and fields are %(high)d pixels high, links %(least)d, and on the tablet everything %(wet)d; "
            "nothing has to be dragged."
        ),
        _("Measured on every page; links within a sentence are left out, as WCAG does."),
        high=HIGH,
        least=LEAST,
        wet=WET,
    ),
    Check(
        "tab",
        _("With the keyboard everything is reached, in reading order, seen and with a ring round it."),
        _("A program presses the tabulator through every page in the smallest window."),
    ),
    Check(
        "keys",
        _("A time that is known is booked with at most %(most)d presses of keys."),
        _("Counted in a browser, with JavaScript and without."),
        most=MOST_KEYS,
    ),
    Check(
        "zoom",
        _("Enlarged to 200 and to 400 per cent nothing has to be scrolled sideways and no word is cut off."),
        _("Measured on every page; wide tables scroll in their own frame."),
    ),
    Check(
        "spacing",
        _("Wider lines, letters and words, as a reader's own style may set them, fit."),
        _("The distances of WCAG 1.4.12 laid over every page."),
    ),
    Check(
        "words",
        _("Words half as long again, as another language has them, run out of no page."),
        _("Every page with stretched words at the narrowest width."),
    ),
    Check("motion", _("Nothing moves by itself."), _("No style sheet moves anything, and no page does in a browser.")),
    Check(
        "colours",
        _("In a system's own high-contrast colours what is free, taken and chosen can be told apart."),
        _("Chromium with forced colours: grounds, borders, patterns and tones are told apart."),
    ),
    Check(
        "spoken",
        _("What changes is spoken where it changes, by a place that was there before."),
        _("Looked for on every page, and while the desk refreshes itself."),
    ),
    Check(
        "plain",
        _("Everything works with JavaScript off but the tablet's logging without a network."),
        _("The main ways are walked in a browser that has it off."),
    ),
    Check(
        "table",
        _("What is drawn is also there as a table."),
        _("Free time, a day, baths, strips and forecasts have one; of free time and baths both are compared."),
    ),
    Check(
        "complete",
        _("No page is left out."),
        _("An address that shows a page and is in none of these checks fails them."),
    ),
)

NOT_YET = (
    _("Nobody who uses a screen reader, a magnifier, a switch or their voice every day has tried it for us yet."),
    _("No screen reader was run: what one would say was read from the tree that the browser gives to it."),
    _("Only Chromium was measured, not Firefox, Safari or a phone in the hand."),
    _("Whether the words are easy enough was judged by us alone."),
    _("Pages that only read tables, for managers, are drawn by the framework and are not in these checks."),
)
LIMITS = (
    _("The drawn lines, wedges and charts are hard to hear: each has its table, or says in words what it shows."),
    _("In a drawn line a short stretch has no room for its words; its table has them."),
    _("Paper cannot be enlarged: door sheet, labels and signs are on a page first, where they can."),
    _("The tablet beside a processor needs JavaScript to keep what is logged while the network is away."),
    _(
        "In dim red the tablet's contrast is low for some eyes. Dim amber is one press away, and the same can be "
        "written down on a phone or at the desk."
    ),
    _("Letters come as plain text and have no headings."),
)
