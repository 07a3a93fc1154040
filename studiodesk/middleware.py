"""What stands around every request: the studio's time, the tablet that asks, and what is said when an act refuses."""

from collections.abc import Callable
from datetime import UTC

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone, translation
from django.utils.translation.trans_real import parse_accept_lang_header

from studiodesk import errors, manner
from studiodesk.answers import Refused
from studiodesk.people import queries as people
from studiodesk.stations import queries as stations

GetResponse = Callable[[HttpRequest], HttpResponse]


def plain_addresses(get_response: GetResponse) -> GetResponse:
    """An address with a NUL in it leads nowhere; PostgreSQL would not even be asked about one."""

    def answer(request: HttpRequest) -> HttpResponse:
        if "\0" in request.path_info:
            return errors.not_found(request, Http404())
        return get_response(request)

    return answer


def studio_time(get_response: GetResponse) -> GetResponse:
    """Every time on a page is the studio's, and written as the studio writes."""

    def answer(request: HttpRequest) -> HttpResponse:
        studio = stations.studio_or_none()
        request.studio = studio  # type: ignore[attr-defined]
        writes = manner.of(studio.clock, studio.units) if studio else manner.Manner()
        with timezone.override(stations.zone(studio) if studio else UTC), manner.override(writes):
            response = get_response(request)
            if hasattr(response, "render") and not response.is_rendered:
                response.render()
            return response

    return answer


def language(get_response: GetResponse) -> GetResponse:
    """The person's own language; else this browser's choice; else, for no tablet, the browser's; else the studio's.

    Django's own middleware stands before it, for what is answered before anybody is known.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        translation.activate(_language_for(request))
        request.LANGUAGE_CODE = translation.get_language()  # type: ignore[attr-defined]
        return get_response(request)

    return answer


def _language_for(request: HttpRequest) -> str:
    user = request.user
    asked = [user.language if user.is_authenticated else "", request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME, "")]
    if request.tablet is None:  # type: ignore[attr-defined]
        asked += [code for code, _ in parse_accept_lang_header(request.headers.get("Accept-Language", ""))]
    studio = request.studio  # type: ignore[attr-defined]
    for code in [*asked, studio.language if studio else ""]:
        try:
            if code and code != "*":
                return str(translation.get_supported_language_variant(code))
        except LookupError:
            continue
    return str(settings.LANGUAGE_CODE)


def enrolled_tablet(get_response: GetResponse) -> GetResponse:
    """``request.tablet``: the enrolled tablet that asks, or None."""

    def answer(request: HttpRequest) -> HttpResponse:
        request.tablet = people.tablet_of(request.COOKIES.get(people.TABLET_COOKIE, ""))  # type: ignore[attr-defined]
        return get_response(request)

    return answer


class refusals:
    """A refusal that a view did not show in its own form becomes a page with the sentence and the way on."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 405 and not response.content and request.method == "GET":
            return errors.not_allowed(request, response["Allow"])
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if isinstance(exception, Refused):
            return errors.refused(request, exception.refusal)
        return errors.unavailable(request) if errors.will_pass(exception) else None
