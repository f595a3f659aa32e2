"""Every handler that the OpenAPI document describes."""

from chinrest.server import lead, people, phones, review

HANDLERS = [*phones.ROUTES, *people.ROUTES, *review.ROUTES, *lead.ROUTES]
