"""The working companion of a closed-cup flash point laboratory.

The one path: sample, requested test, estimate, plan, determinations, result, checks,
classification and conformity, report. Each word is a folder here or a file in `laboratory`.
"""

__version__ = "0.1.0"
