"""What is said when a log or an entry of a bath is refused."""

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

HOW_MANY = _("How many sheets went through? 1 to 10,000.")
HOW_MUCH = _("Say how much: more than 0 mL.")
PRESS_AGAIN = _("Press again if it is so.")

register(
    {
        "chemistry.too_wide": Words(
            _("%(sheet)s is %(edge)s across; %(processor)s takes %(feed)s at most."),
            _("Choose another size or another processor."),
        ),
        "chemistry.too_short": Words(
            _("%(sheet)s is %(edge)s long; %(processor)s carries nothing shorter than %(feed)s."),
            _("A shorter piece can be lost between the rollers: choose another size."),
        ),
        "chemistry.no_sheets": Words(HOW_MANY, ""),
        "chemistry.too_many_sheets": Words(HOW_MANY, ""),
        "chemistry.in_the_future": Words(
            _("%(at)s has not come yet."), _("Log it when it has happened, or correct the time.")
        ),
        "chemistry.too_long_ago": Words(
            _("%(at)s is more than a day ago."), _("Ask the desk to log it: there any past time is taken.")
        ),
        "chemistry.booking_elsewhere": Words(
            _("That booking is at %(there)s, not at %(here)s."),
            _("Choose somebody else, or the other processor."),
        ),
        "chemistry.who_needed": Words(_("It was not said whose sheets these are."), _("Choose one of the answers.")),
        "chemistry.already_undone": Words(_("These sheets were already taken back."), ""),
        "chemistry.too_late_to_undo": Words(
            _("Only the last log of this tablet can be taken back here, within 15 minutes."),
            _("The desk can still take it back today."),
        ),
        "chemistry.not_of_today": Words(
            _("Only what was logged today can be taken back."), _("Write a note at the bath about what was wrong.")
        ),
        "chemistry.amount_needed": Words(HOW_MUCH, ""),
        "chemistry.whole_tank": Words(_("That is the whole tank."), _("Write down a bath change instead.")),
        "chemistry.reading_needed": Words(
            _("The strip says nothing yet."), _("Write its figure, or what it looked like in the note.")
        ),
        "chemistry.is_a_correction": Words(
            _("This entry took another one's place and cannot be taken back."),
            _("Write it down once more as it was."),
        ),
        "chemistry.from_a_file": Words(
            _("This came from a file and cannot be taken back here."),
            _("Write a note at the bath about what is wrong."),
        ),
        "chemistry.before_first_filling": Words(
            _("%(bath)s was filled for the first time on %(at)s: no earlier tank is known."),
            _("Correct the time, or write down first when the earlier tank was filled."),
        ),
        "chemistry.much_more_than_due": Words(_("That is %(times)s times what is due."), PRESS_AGAIN),
        "chemistry.nothing_due": Words(_("Hardly anything is due, and that is much for this tank."), PRESS_AGAIN),
        "chemistry.litres_perhaps": Words(
            _("That is very little for this tank. Was it %(litres)s litres? The amount is in millilitres."), PRESS_AGAIN
        ),
        "chemistry.not_evaporated": Words(
            _(
                "Paper went through since it was topped up: what is missing went with it, or the pump stands still. "
                "Water takes the place of water only."
            ),
            PRESS_AGAIN,
        ),
        "chemistry.over_a_year_ago": Words(_("%(day)s is more than a year ago."), PRESS_AGAIN),
        "chemistry.amount_too_great": Words(
            _("That is more than %(bath)s can have taken: at most %(most_ml)s mL in one entry."),
            _("Check the amount; it is in millilitres."),
        ),
        "chemistry.drawn_too_much": Words(
            _("So much cannot have been drawn off: at most %(most_ml)s mL."),
            _("Check the amount; it is in millilitres."),
        ),
        "chemistry.tank_is_empty": Words(
            _("%(bath)s was poured away and is not filled again yet."), _("Write down the bath change first.")
        ),
        "chemistry.in_its_bottle": Words(_("%(bath)s is in its bottle already."), ""),
        "chemistry.not_in_its_bottle": Words(
            _("%(bath)s is not in its bottle."), _("Write down first when it was poured into the bottle.")
        ),
        "chemistry.no_amount_here": Words(
            _("An amount does not belong to this entry."), _("Leave it empty, or choose another kind of entry.")
        ),
        "chemistry.not_replenished": Words(
            _("%(bath)s is not replenished: it is used up and changed."),
            _("If you topped it up, log it as working solution."),
        ),
        "chemistry.silver_out_of_range": Words(
            _("A silver reading is 0 to 100 g/L and belongs to a strip."), _("Check the figure and its unit.")
        ),
        "chemistry.reason_needed": Words(
            _("The reason is missing."), _("Write one line that the next person can use.")
        ),
        "chemistry.refilled_already": Words(
            _("%(bath)s already has a refill at that very moment."), _("Nothing more needs to be written.")
        ),
        "chemistry.already_corrected": Words(
            _("This entry was already taken back or corrected."), _("Look at the bath's entries again.")
        ),
        "chemistry.no_settings": Words(
            _("%(bath)s has no figures yet."), _("Load the studio's description again, with this bath in it.")
        ),
    }
)
