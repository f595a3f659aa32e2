"""Every handler that the OpenAPI document describes."""

from chinrest.server import charts, deciding, exports, lead, people, phones, rates, review

HANDLERS = [
    *phones.ROUTES,
    *people.ROUTES,
    *review.ROUTES,
    *deciding.ROUTES,
    *rates.ROUTES,
    *charts.ROUTES,
    *exports.ROUTES,
    *lead.ROUTES,
]
