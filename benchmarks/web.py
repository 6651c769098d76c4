"""How long the server takes for a page once warm, on the demo laboratory and with 500 samples."""

import statistics
import tempfile
import time
from decimal import Decimal
from pathlib import Path

from starlette.testclient import TestClient

from closedcup.app.opening import open_laboratory
from closedcup.app.usecases.desk import samples
from closedcup.app.web.application import create_app
from closedcup.demo.run import run_demo
from closedcup.laboratory import Composition, Sample

ROUNDS = 30
TARGET_MS = 50
PAGES = ("/", "/samples/new", "/samples/S-0001", "/bench/S-0003-T1-1", "/apparatus", "/status")


def milliseconds(client: TestClient, path: str) -> tuple[float, float]:
    """Return the first and the median of the others, one request after the other."""
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        answer = client.get(path)
        times.append((time.perf_counter() - began) * 1000)
        assert answer.status_code == 200, path
    return times[0], statistics.median(times[1:])


def add_samples(url: str, number: int) -> None:
    with open_laboratory(url, by="at") as opened:
        for count in range(number):
            samples.receive_sample(
                opened,
                Sample(
                    id=samples.next_sample_id(opened),
                    description=f"Benchmark sample {count}",
                    customer="none",
                    customer_contact="none",
                    received_at=opened.clock().isoformat(),
                    condition="",
                    container="",
                    volume_ml=Decimal(100),
                    composition=Composition("unknown"),
                ),
            )


def report(url: str, title: str, pages: tuple[str, ...]) -> None:
    application = create_app(lambda: open_laboratory(url, by="at"))
    with TestClient(application, base_url="http://127.0.0.1:8460") as client:
        static = milliseconds(client, "/static/base.css")[1]
        for path in pages:
            first, warm = milliseconds(client, path)
            print(
                f"{title:<14} {path:<22} first {first:6.1f} ms, warm {warm:5.1f} ms "
                f"({warm / static:4.1f} × a style sheet; target below {TARGET_MS} ms)"
            )


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder) / 'records.sqlite'}"
        run_demo(url, quiet=True)
        report(url, "demo", PAGES)
        add_samples(url, 500)
        report(url, "506 samples", ("/",))


if __name__ == "__main__":
    main()
