"""Run every benchmark; each prints ratios measured in this one run beside absolute figures."""

from benchmarks import (
    command_line,
    diagnosis,
    estimate,
    intervals,
    large_laboratory,
    many_blends,
    metrology,
    planning,
    pure_estimates,
    pure_values,
    records,
    traces,
    web,
)


def main() -> None:
    for part in (
        diagnosis,
        estimate,
        intervals,
        large_laboratory,
        many_blends,
        metrology,
        planning,
        pure_estimates,
        pure_values,
        records,
        traces,
        web,
        command_line,
    ):
        name = part.__name__.rpartition(".")[2].replace("_", " ")
        print(f"── {name}")
        part.main()


if __name__ == "__main__":
    main()
