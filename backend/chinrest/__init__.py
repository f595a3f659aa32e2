"""Chinrest: the chairside companion of the retinal photographer."""

__version__ = "0.1.0"
