"""What the server keeps, in one embedded database file."""

from chinrest.store.faults import StoreError
from chinrest.store.store import Store

__all__ = ["Store", "StoreError"]
