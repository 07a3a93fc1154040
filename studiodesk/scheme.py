"""Light or dark: the device's wish, unless somebody chose.  Kept in a cookie alone, so that strangers can choose."""

from django.http import HttpRequest

SCHEME_COOKIE = "look"
SCHEMES = ("light", "dark")
#: What stands for no choice in the form: the cookie goes.
AS_DEVICE = "device"


def scheme_of(request: HttpRequest) -> str:
    """ "light" or "dark" if that was chosen here, else ""."""
    kept = request.COOKIES.get(SCHEME_COOKIE, "")
    return kept if kept in SCHEMES else ""
