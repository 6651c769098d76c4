"""What is named by its id on the command line, with what such an id looks like."""

from typing import Annotated

import typer

SampleId = Annotated[str, typer.Argument(metavar="SAMPLE", help="The sample's id: S-0001.")]
TestId = Annotated[str, typer.Argument(metavar="TEST", help="The test's id: S-0001-T1.")]
SeriesId = Annotated[str, typer.Argument(metavar="SERIES", help="The series' id: S-0001-T1-1.")]
ResultId = Annotated[str, typer.Argument(metavar="RESULT", help="The result's id: R-0001.")]
ApparatusId = Annotated[
    str, typer.Argument(metavar="APPARATUS", help="The apparatus's id: closedcup apparatus.")
]
PersonId = Annotated[str, typer.Argument(metavar="PERSON", help="The person's id.")]
MethodId = Annotated[
    str, typer.Argument(metavar="METHOD", help="The method's id: d3828-b; see closedcup methods.")
]
HoldId = Annotated[str, typer.Argument(metavar="HOLD", help="The hold's id: H-0001.")]
DisputeId = Annotated[str, typer.Argument(metavar="DISPUTE", help="The dispute's id: D-0001.")]
FailureId = Annotated[str, typer.Argument(metavar="FAILURE", help="The failure's id: F-0001.")]
QualificationId = Annotated[
    str, typer.Argument(metavar="QUALIFICATION", help="The authorisation's id: Q-0001.")
]
