"""Every handler that the OpenAPI document describes."""

from chinrest.server import (
    calibration,
    carried,
    charts,
    craft,
    deciding,
    exports,
    lead,
    pack_views,
    people,
    phones,
    plans,
    queue,
    rates,
    relay,
    review,
    rollout,
)

HANDLERS = [
    *phones.ROUTES,
    *people.ROUTES,
    *review.ROUTES,
    *queue.ROUTES,
    *deciding.ROUTES,
    *rates.ROUTES,
    *charts.ROUTES,
    *craft.ROUTES,
    *calibration.ROUTES,
    *exports.ROUTES,
    *relay.ROUTES,
    *carried.ROUTES,
    *plans.ROUTES,
    *lead.ROUTES,
    *pack_views.ROUTES,
    *rollout.ROUTES,
]
