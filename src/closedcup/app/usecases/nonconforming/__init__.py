"""Nonconforming work: holds, doubts, disputes, failures of the system."""
