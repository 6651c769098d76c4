"""Why results on reference materials are off."""
