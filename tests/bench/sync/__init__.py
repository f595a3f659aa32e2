"""Sync at speed: the phone's exchange beside the bare limit and beside libraries for offline sync."""
