"""What is said when a mix, a recipe, a container or something of the stock is refused, and of states and units."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

from .book import PRESS_AGAIN

#: States of ``RecipeLife`` → what people call them.
STATES = {
    "full bottle": _("Full bottle"),
    "part-full bottle": _("Part-full bottle"),
    "floating lid": _("Under a floating lid"),
    "tank": _("In the tank"),
    "tray": _("In the tray"),
}
USES = {
    "working solution": _("Working solution"),
    "tank": _("The mix that a tank is started with"),
    "replenisher": _("Replenisher"),
    "one-shot": _("Used once and poured away"),
}
USES_SHORT = {
    "working solution": _("working solution"),
    "tank": _("starts a tank"),
    "replenisher": _("replenisher"),
    "one-shot": _("used once and poured away"),
}
PRODUCT_SORTS = {
    "concentrate": _("Concentrate"),
    "powder": _("Powder"),
    "kit part": _("Part of a kit"),
    "replenisher": _("Replenisher"),
    "starter": _("Starter"),
    "other": _("Something else"),
}
PRODUCT_UNITS = {"mL": _("mL"), "g": _("g"), "piece": _("pieces")}
CONTAINER_SORTS = {"bottle": _("Bottle"), "floating lid": _("With a floating lid"), "tray": _("Tray")}
VOLUME_UNITS = {"mL": _("mL"), "L": _("L"), "US fl oz": _("US fl oz"), "US gal": _("US gal")}
STOCK_EVENTS = {
    "used": _("Used"),
    "thrown away": _("Thrown away"),
    "counted": _("Counted"),
}
CONTAINER_EVENTS = {
    "filled": _("Poured in"),
    "taken": _("Taken out"),
    "poured in": _("Poured in"),
    "measured": _("Level read"),
    "connected": _("Connected"),
    "collected": _("Picked up"),
    "emptied": _("Emptied"),
}

register(
    {
        "chemistry.ratio_unreadable": Words(_("“%(written)s” is no ratio."), _("Write it with a plus, such as 1+9.")),
        "chemistry.ratio_ambiguous": Words(
            _("“%(written)s” is read in two ways."),
            _(
                "Write %(plus)s if the water comes on top of the concentrate, or %(inside)s if the second number is "
                "the whole."
            ),
        ),
        "chemistry.ratio_does_not_fit": Words(
            _("At %(ratio)s the recipe needs %(wanted)s mL of the concentrate, and %(given)s mL are written."),
            _("Correct the ratio or the amount; left empty, the amount is reckoned from the ratio."),
        ),
        "chemistry.recipe_needs_name": Words(_("The recipe has no name."), _("Say what is mixed.")),
        "chemistry.recipe_needs_parts": Words(
            _("The recipe has no part with an amount."), _("Write at least one product and how much of it.")
        ),
        "chemistry.one_mark_only": Words(
            _("A recipe is made up to its volume once."),
            _("Leave one “make up to volume” and give the other an amount."),
        ),
        "chemistry.parts_too_much": Words(
            _("The liquids are %(parts)s mL together, more than the %(makes)s mL that the recipe makes."),
            _("Correct an amount or the volume."),
        ),
        "chemistry.part_needs_amount": Words(
            _("Part %(position)s has no amount."), _("Say how much of it goes in, more than 0.")
        ),
        "chemistry.life_too_short": Words(
            _("A shelf life is longer than nothing."), _("Leave it empty if none is known.")
        ),
        "chemistry.recipe_out_of_use": Words(
            _("%(recipe)s is not mixed any more."), _("Choose another recipe, or ask staff.")
        ),
        "chemistry.mix_amount": Words(_("Say how much: more than 0, and %(most)s L at most."), ""),
        "chemistry.far_more_than_recipe": Words(
            _("That is %(times)s times what the recipe is given for."), PRESS_AGAIN
        ),
        "chemistry.far_less_than_recipe": Words(
            _("That is %(times)s times less than the recipe is given for."), PRESS_AGAIN
        ),
        "chemistry.measured_needed": Words(
            _("It is not written how much of %(part)s was measured."), _("Write what really went in.")
        ),
        "chemistry.not_enough_stock": Words(
            _("%(product)s: %(asked)s %(unit)s are needed and %(left)s %(unit)s are in stock."),
            _("Mix less, or write down first what came or what a count found."),
        ),
        "chemistry.only_expired": Words(
            _("%(product)s: what is good is not enough. Expired: %(lots)s."),
            _("Look at its data sheet. Press again if you mixed from it all the same."),
        ),
        "chemistry.other_mix": Words(
            _("%(container)s still has mix %(number)s in it."), _("Empty and rinse it first, or choose another one.")
        ),
        "chemistry.other_stream": Words(
            _("%(container)s is for %(stream)s."),
            _("What belongs to another waste stream goes into another container."),
        ),
        "chemistry.over_capacity": Words(
            _("%(container)s takes %(room_ml)s mL more at most."), _("Choose a larger one, or mix less.")
        ),
        "chemistry.no_such_container": Words(
            _("%(container)s is not for mixes, or not in use."), _("Choose another container.")
        ),
        "chemistry.container_empty": Words(_("There is nothing in %(container)s."), ""),
        "chemistry.container_less": Words(
            _("By the book only %(level_ml)s mL are in %(container)s."), _("Read its level first, or take less.")
        ),
        "chemistry.container_less_perhaps": Words(
            _("By the book only %(level_ml)s mL are in %(container)s."),
            _("Press again if it was so; then it counts as empty."),
        ),
        "chemistry.container_later": Words(
            _("Something later is written of %(container)s already, at %(at)s."),
            _("Write the rest down as of now, and say in the note when it was."),
        ),
        "chemistry.container_needs_name": Words(_("The container has no name."), _("Write what stands on it.")),
        "chemistry.same_container": Words(_("That is the same container."), _("Choose another one.")),
        "chemistry.container_capacity": Words(
            _("It takes more than nothing, and no less than is in it: %(least_ml)s mL."), ""
        ),
        "chemistry.container_in_use": Words(
            _("%(container)s has something in it."), _("Empty it first, then take it out of use.")
        ),
        "chemistry.level_out_of_range": Words(_("The level is 0 to %(most_ml)s mL."), ""),
        "chemistry.mix_taken_back": Words(_("This mix was taken back already."), ""),
        "chemistry.mix_not_of_today": Words(
            _("Only a mix of today can be taken back."), _("Count the stock and empty its container instead.")
        ),
        "chemistry.mix_used": Words(
            _("Something of this mix was used or poured over already."), _("Take that back first.")
        ),
        "chemistry.mix_of_no_bath": Words(_("That mix was taken back."), _("Choose another one.")),
        "chemistry.product_needs_name": Words(_("The product has no name."), _("Write it as it stands on the pack.")),
        "chemistry.product_pack": Words(_("A pack has something in it."), _("Say how much, more than 0.")),
        "chemistry.product_unit_stays": Words(
            _("The unit of %(product)s cannot change: it has lots or stands in a recipe."),
            _("Keep another product with the other unit."),
        ),
        "chemistry.lot_amount": Words(_("Lot %(lot)s brought something: say how much."), ""),
        "chemistry.lot_needs_code": Words(
            _("A lot needs the batch number on its pack."), _("Without one, write the day it came.")
        ),
        "chemistry.received_in_future": Words(_("%(day)s has not come yet."), _("Correct the day.")),
        "chemistry.expires_long_ago": Words(_("It would have expired on %(day)s."), _("Check the year.")),
        "chemistry.nothing_came": Words(_("Nothing is written that came."), _("Choose at least one product.")),
        "chemistry.nothing_counted": Words(_("Nothing was counted."), _("Write at least one number.")),
        "chemistry.lot_opened_already": Words(_("Lot %(lot)s was opened on %(day)s already."), ""),
        "chemistry.counted_too_much": Words(
            _("Lot %(lot)s brought %(most)s: it cannot have more left, nor less than nothing."),
            _("Count again; what came besides is a delivery of its own."),
        ),
        "chemistry.thrown_too_much": Words(_("%(left)s is left: no more than that can be thrown away."), ""),
    }
)
