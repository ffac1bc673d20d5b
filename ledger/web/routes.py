"""Every page and act of the counter, in the order of the navigation."""

from ledger.web import (
    api,
    devices_page,
    inquiry_page,
    inspector,
    item_page,
    month_page,
    people_page,
    pictures_page,
    printing,
    reading_page,
    rules_page,
    signing_in,
    slip_page,
    today_page,
    trays,
)
from ledger.web.visits import Route

ROUTES: tuple[Route, ...] = (
    *trays.ROUTES,
    *slip_page.ROUTES,
    *reading_page.ROUTES,
    *pictures_page.ROUTES,
    *today_page.ROUTES,
    *inquiry_page.ROUTES,
    *item_page.ROUTES,
    *printing.ROUTES,
    *month_page.ROUTES,
    *people_page.ROUTES,
    *rules_page.ROUTES,
    *devices_page.ROUTES,
    *inspector.ROUTES,
    *api.ROUTES,
    *signing_in.ROUTES,
)
