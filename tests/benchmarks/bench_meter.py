"""What a reading from a connected meter costs on our side, over a real TCP socket on the loopback. Prints JSON.

    python -m tests.benchmarks.bench_meter

The meter here answers at once, and pauses between displays are left out, so what is timed is ours: the VISA library,
the commands, the replies, the watch. `bare` is one query on a bare socket to the same meter, in the same run; `ours`
is what one more display costs, `taken` a whole reading from the question to the answer (mode, touch-down, a look for a
voltage, the run of displays).
"""

import json
import socket
import tempfile
import time
from pathlib import Path
from statistics import median, quantiles

from guide.core.quantity import Measure
from guide.core.reading import Measured
from guide.edge.instruments.discover import connect
from tests.instruments import Meter, SocketServer, on_a_socket

READINGS = 300
LIMIT_MS = 20.0


def timed(work) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def bare_query(server: SocketServer) -> list[float]:
    with socket.create_connection(("127.0.0.1", server.port)) as line, line.makefile("rb") as replies:

        def query() -> None:
            line.sendall(b"READ?\n")
            assert replies.readline().endswith(b"\n")

        return [timed(query) for _ in range(READINGS)]


def main() -> None:
    meter = Meter()
    with tempfile.TemporaryDirectory() as folder, on_a_socket(meter) as server:
        bare = bare_query(server)
        with connect(server.address, Path(folder), pause=lambda: None) as bench:
            one = [timed(lambda: bench._shown(Measure.VOLTS_DC)) for _ in range(READINGS)]
            whole, displays = [], []
            for _ in range(READINGS):
                meter.show(DIOD=[None, *[0.512] * 9])
                before = meter.log.count("READ?")
                start = time.perf_counter()
                reading = bench.take(Measure.DIODE, lambda: False)
                whole.append((time.perf_counter() - start) * 1000)
                assert isinstance(reading, Measured)
                displays.append(meter.log.count("READ?") - before)
    result = {
        "bare query, ms": {"median": median(bare), "p99": quantiles(bare, n=100)[98]},
        "ours, one display, ms": {"median": median(one), "p99": quantiles(one, n=100)[98]},
        "ours over bare": median(one) / median(bare),
        "taken, whole reading, ms": {"median": median(whole), "p99": quantiles(whole, n=100)[98]},
        "displays in a reading": median(displays),
        "limit, ms": LIMIT_MS,
    }
    print(json.dumps(result, indent=1))


if __name__ == "__main__":
    main()
