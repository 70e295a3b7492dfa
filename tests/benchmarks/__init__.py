"""Speed, measured by hand and in CI without a threshold on absolute time: `python -m tests.benchmarks.bench_job`."""
