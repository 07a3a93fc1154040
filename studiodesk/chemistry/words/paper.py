"""What is said of sizes, classes of paper, rolls and film."""

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "chemistry.film_in_paper": Words(
            _("%(sheet)s is film, and %(processor)s is for paper."),
            _("Film never goes into the fixer of paper, nor paper into film's: choose the film line."),
        ),
        "chemistry.paper_in_film": Words(
            _("%(sheet)s is paper, and %(processor)s is for film."),
            _("Choose another processor."),
        ),
        "chemistry.paper_elsewhere": Words(
            _("That paper does not go through %(processor)s."), _("Choose another paper or another processor.")
        ),
        "chemistry.length_needed": Words(
            _("%(sheet)s is a roll: how long was the piece?"), _("Write its length in metres.")
        ),
        "chemistry.length_absurd": Words(
            _("A piece is more than 0 and at most %(most)s m long."), _("Check the length; it is in metres.")
        ),
        "chemistry.length_only_of_rolls": Words(
            _("%(sheet)s has its own length."), _("Leave the length empty, or choose a roll.")
        ),
        "chemistry.size_absurd": Words(_("An edge is 1 to %(most)s mm."), _("Check the size; it is in millimetres.")),
        "chemistry.size_needs_length": Words(
            _("%(size)s is a sheet: both edges are needed."), _("Write the length in millimetres.")
        ),
        "chemistry.roll_has_no_length": Words(
            _("%(size)s is a roll: the length of a piece is written down when it goes through."),
            _("Leave the length empty."),
        ),
        "chemistry.film_needs_area": Words(
            _("%(size)s is film: how much does one count?"), _("Write the area of one film in cm².")
        ),
        "chemistry.only_film_has_area": Words(
            _("%(size)s counts its own edges."), _("Leave the area empty; it is for film only.")
        ),
        "chemistry.size_in_the_book": Words(
            _("Sheets of %(size)s went through already, and keep the area that was counted."),
            _("Take it out of use and add a new size."),
        ),
    }
)
