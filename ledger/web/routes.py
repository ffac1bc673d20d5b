"""Every page and act of the counter, in the order of the navigation."""

from ledger.web import (
    api,
    devices_page,
    inquiry_page,
    inspector,
    item_page,
    month_page,
    people_page,
    printing,
    rules_page,
    signing_in,
    today_page,
)
from ledger.web.visits import Route

ROUTES: tuple[Route, ...] = (
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
