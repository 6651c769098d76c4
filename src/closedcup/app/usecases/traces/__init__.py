"""Traces of a ramp: read, corrected once, analysed."""
