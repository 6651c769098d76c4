"""At the bench: the cards of a day, series, moves, dwells, bench sheets."""
