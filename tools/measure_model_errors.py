"""Write `model_error.csv`: how far each model of activity may be off, by kind of blend.

Run with `.venv/bin/python tools/measure_model_errors.py`, after a change to the published blends,
the rule (`closedcup.app.validation.model_errors`) or the models. The rows of the ideal form were
judged and are kept as they stand; parameters of the user get the widths of the original UNIFAC.
"""

import csv
import io
from dataclasses import replace
from pathlib import Path

from closedcup.app.validation.model_errors import MODELS, ModelError, model_errors
from closedcup.app.validation.published_blends import all_series
from closedcup.mixtures.tables import data_file

HEADER = (
    "# Half of a nominal 95 % interval of the model itself, pure values apart, by kind of blend.\n"
    "# Written by tools/measure_model_errors.py; the rows of the ideal form are judged.\n"
)


def measured() -> list[ModelError]:
    """Return the rows that are measured."""
    series = list(all_series().values())
    by_model = [row for model in MODELS for row in model_errors(series, model)]
    said = "parameters of the user, not tried by us; the original UNIFAC has: "
    own = [
        replace(row, model="own parameters", note=said + row.note)
        for row in model_errors(series, "unifac")
    ]
    return by_model + own


def main() -> None:
    path = Path(str(data_file("model_error.csv")))
    kept = [line for line in path.read_text(encoding="utf-8").splitlines() if line[:6] == "ideal,"]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("model", "family", "half_width_c", "note", "source", "known"))
    for row in measured():
        width = f"{row.half_width_c:.2f}"
        writer.writerow((row.model, row.family, width, row.note, "measured-blends", "package"))
    path.write_text(HEADER + text.getvalue() + "\n".join(kept) + "\n", encoding="utf-8")
    print(f"wrote {path.name}")


if __name__ == "__main__":
    main()
