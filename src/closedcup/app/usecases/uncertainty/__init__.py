"""Uncertainty from below and from above; rounds among sites and outliers."""
