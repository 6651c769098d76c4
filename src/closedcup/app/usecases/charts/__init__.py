"""Control charts: what goes on them, what they signal, what was decided."""
