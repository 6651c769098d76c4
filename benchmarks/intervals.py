"""How good the intervals are: coverage, width and interval score, one system left out at a time."""

from closedcup.app.validation.interval_scores import scores


def main() -> None:
    for activity in ("default", "unifac", "dortmund"):
        systems, points, found = scores(activity)
        print(f"{activity}: {points} published points of {systems} systems, consensus pure values")
        print(
            f"{'interval':<38} {'covers':>7} {'half width':>11} {'score':>11} {'worst system':>12}"
        )
        for each in found:
            print(each.text())


if __name__ == "__main__":
    main()
