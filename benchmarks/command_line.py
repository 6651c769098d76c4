"""How long `closedcup --help` takes, beside the bare interpreter and a command that computes."""

import statistics
import subprocess
import sys
import time

ROUNDS = 7


def seconds(*words: str) -> float:
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - began)
    return statistics.median(times)


def main() -> None:
    bare = seconds("-c", "pass")
    for words in (
        ("--help",),
        ("correct", "--observed", "60 degC", "--pressure", "95 kPa"),
        ("estimate", "-c", "ethanol=0.5", "-c", "water=0.5"),
    ):
        taken = seconds("-m", "closedcup", *words)
        print(
            f"closedcup {words[0]:<9} {taken * 1000:6.0f} ms, "
            f"{taken / bare:4.1f} × the bare interpreter ({bare * 1000:.0f} ms)"
        )


if __name__ == "__main__":
    main()
