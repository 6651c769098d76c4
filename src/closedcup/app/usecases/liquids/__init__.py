"""Liquids, blends and fuels: estimates, lines, maps, files of blends."""
