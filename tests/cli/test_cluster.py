"""A Dask scheduler and two workers on loopback; one of them is killed midway, and nothing is lost."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from earloop.cli.commands import main

ROOT = Path(__file__).parents[2]


def started(module: str, *words: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", module, *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )


def said(program: subprocess.Popen[str], pattern: str) -> str:
    assert program.stderr
    for row in program.stderr:
        found = re.search(pattern, row)
        if found:
            return found.group(1)
    raise AssertionError(f"{program.args} ended without saying {pattern}")


@pytest.fixture
def cluster():
    scheduler = started(
        "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--no-jupyter"
    )
    programs = [scheduler]
    try:
        address = said(scheduler, r"Scheduler at:\s+(tcp://127\.0\.0\.1:\d+)")
        workers = [
            started("distributed.cli.dask_worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard")
            for _ in range(2)
        ]
        programs += workers
        for worker in workers:
            said(worker, r"(Registered to):")
        yield address, workers
    finally:
        for program in programs:
            program.kill()
            program.wait()
            program.stderr.close()


def test_a_killed_worker_loses_nothing(cluster) -> None:
    address, workers = cluster
    tones = [{"onset": k * 0.5, "length": 0.5, "midi": 60 + (k * 5) % 13} for k in range(200)]
    rows = [json.dumps({"id": k, "tones": tones}) for k in range(150)]
    reader = subprocess.Popen(
        [sys.executable, "-m", "earloop", "read", "--batch", "--scheduler", address],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    assert reader.stdin
    assert reader.stdout
    reader.stdin.write("\n".join(rows))
    reader.stdin.close()
    first = [reader.stdout.readline() for _ in range(10)]
    workers[0].send_signal(signal.SIGKILL)
    answers = [json.loads(row) for row in (*first, *reader.stdout)]
    reader.stdout.close()
    assert reader.wait() == 0
    assert [answer["id"] for answer in answers] == list(range(150))
    assert not any("error" in answer for answer in answers)


def test_no_scheduler_gets_one_sentence(capsys, monkeypatch) -> None:
    import io

    from earloop.cli import cluster

    monkeypatch.setattr(cluster, "PATIENCE", 1)
    monkeypatch.setattr(sys, "stdin", io.StringIO('{"id": 1, "tones": []}\n'))
    begun = time.monotonic()
    assert main(["read", "--batch", "--scheduler", "tcp://127.0.0.1:9"]) == 2
    assert "no Dask scheduler answers at tcp://127.0.0.1:9" in capsys.readouterr().err
    assert time.monotonic() - begun < 60
