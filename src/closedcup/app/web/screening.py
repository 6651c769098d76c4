"""Screening: where a search that no method prescribes would look; never a result of a method."""

from starlette.responses import Response

from closedcup.app.usecases.bench.benching import bench
from closedcup.app.usecases.planning.belief_pictures import belief_panel
from closedcup.app.web.rendering import Visit, page


def show(visit: Visit) -> Response:
    """Show where a free search would look next, labelled as what it is."""
    series = visit.path("series")
    view = bench(visit.opened, series)
    return page(
        visit,
        "screening.html",
        series=series,
        advice=belief_panel(visit.opened, view, screening=True),
    )
