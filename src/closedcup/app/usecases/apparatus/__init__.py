"""Apparatus and reference materials: set up, verified, kept in date."""
