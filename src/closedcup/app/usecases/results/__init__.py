"""Results and reports: from a finished series to what was issued, and what it means."""
