"""Stands here so that every tier can import what this folder shares, such as `serving`."""
