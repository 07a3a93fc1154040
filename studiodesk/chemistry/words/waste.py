"""What is said of waste."""

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "chemistry.other_waste": Words(
            _("This container is for %(stream)s, and that is %(what)s: the two are never mixed."),
            _("Choose the container of its own stream."),
        ),
        "chemistry.waste_over_its_edge": Words(
            _("There is room for %(room_ml)s mL only."), _("Connect an empty container, or have this one picked up.")
        ),
        "chemistry.permit_ends_before": Words(_("It ends before it begins."), _("Check both days.")),
        "chemistry.bath_keeps_stream": Words(
            _("%(bath)s gave to %(stream)s already: what ran into its container would be counted elsewhere."),
            _("Leave it there, or add another bath."),
        ),
        "chemistry.stream_stays": Words(
            _("Something stood in %(container)s already: it keeps its stream."), _("Take another container.")
        ),
        "chemistry.container_not_in_use": Words(_("%(container)s is not in use."), _("Choose another one.")),
        "chemistry.nothing_collected": Words(_("Nothing was chosen."), _("Tick what was taken away.")),
        "chemistry.receipt_there": Words(
            _("Receipt %(receipt)s is written down already."), _("Look at the list of pick-ups.")
        ),
        "chemistry.kept_too_short": Words(
            _("A receipt is kept for years, not days."), _("Ask the contractor or the authority until when.")
        ),
        "chemistry.is_of_a_receipt": Words(_("It stands on a receipt and stays."), _("Write down its level instead.")),
    }
)
