"""One short function for each thing that a user does, by the noun that it is done with.

    liquids       estimates, lines, maps, files of blends, fuels
    methods       explained, chosen, confirmed, calculated with
    desk          samples: taken in, kept, looked up
    planning      a test's plan, the order of the day
    bench         the day's cards, series, moves, dwells
    results       results, what they mean, reports
    traces        traces of a ramp
    apparatus     set up, verified; reference materials
    charts, diagnosis, uncertainty            the laboratory's own figures
    nonconforming holds, disputes, failures
    people        accounts, signatures, authorisation
    records       checked, backed up, told as history, handed over
    importing     lists and files from outside

Here, and only here, the parts meet storage and the clock. Both faces call these functions and
add nothing of their own.
"""
