"""The rows of mixing, containers and stock."""

from __future__ import annotations

from .roles import Row, for_house, for_staff

MIXING: dict[str, Row] = {
    "mixing/": Row("/mixing/", for_house(200)),
    "mixing/new/": Row("/mixing/new/", for_staff(200), for_staff(422)),
    "mixing/mix/<int:number>/": Row("/mixing/mix/{mix.number}/", for_house(200)),
    "mixing/mix/<int:number>/undo/": Row("/mixing/mix/{mix.number}/undo/", None, for_house(302)),
    "mixing/container/new/": Row("/mixing/container/new/", for_staff(200), for_staff(422)),
    "mixing/container/<str:code>/": Row("/mixing/container/B1/", for_house(200), for_house(422), {"deed": "empty"}),
    "mixing/container/<str:code>/edit/": Row("/mixing/container/B1/edit/", for_staff(200), for_staff(422)),
    "mixing/<str:code>/": Row("/mixing/fixer-rc/", for_house(200), for_house(422), {"amount": "1", "unit": "L"}),
    "mixing/<str:code>/edit/": Row("/mixing/fixer-rc/edit/", for_staff(200), for_staff(422)),
    "stock/": Row("/stock/", for_house(200)),
    "stock/new/": Row("/stock/new/", for_staff(200), for_staff(422)),
    "stock/delivery/": Row("/stock/delivery/", for_house(200), for_house(422)),
    "stock/count/": Row("/stock/count/", for_house(200), for_house(422)),
    "stock/lot/<int:pk>/open/": Row("/stock/lot/{lot.pk}/open/", None, for_house(302)),
    "stock/lot/<int:pk>/away/": Row("/stock/lot/{lot.pk}/away/", None, for_house(422)),
    "stock/<str:code>/": Row("/stock/fixer/", for_house(200)),
    "stock/<str:code>/edit/": Row("/stock/fixer/edit/", for_staff(200), for_staff(422)),
}
