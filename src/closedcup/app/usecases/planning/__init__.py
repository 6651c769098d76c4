"""Before a test: its plan and apparatus, what is believed, the order of the day."""
