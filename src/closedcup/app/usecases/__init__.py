"""One short function for each thing that a user does.

Here, and only here, the parts meet storage and the clock. Both faces call these functions and
add nothing of their own.
"""
