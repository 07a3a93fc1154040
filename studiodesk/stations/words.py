"""What is said when the house itself says no."""

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "stations.place_is_held": Words(
            _("%(name)s cannot go down to %(places)s places: a place that would go is kept until %(until)s."),
            _("Lower it after that, or cancel what stands there first."),
        ),
        "stations.no_studio": Words(
            _("No studio has been described yet."),
            _("Load one with: manage.py load_studio studio.toml"),
        ),
    }
)
