"""The command line as a process of its own: its output, the readers of that, and Ctrl+C."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.app.invented_site import write_site

RUN = "from viewer.app.command_line import run; raise SystemExit(run())"
FULL = Path("/dev/full")
needs_full = pytest.mark.skipif(not FULL.exists(), reason="this system has no /dev/full")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_site(tmp_path_factory.mktemp("site") / "Anlage Süd", strings=2, years=(2020,))


def curvewright(*words: object, **how: object) -> subprocess.CompletedProcess:
    run = [sys.executable, "-c", RUN, *map(str, words)]
    return subprocess.run(run, stderr=subprocess.PIPE, timeout=120, check=False, **how)


@needs_full
@pytest.mark.parametrize("words", [("analyze",), ("--help",), ("--version",)])
def test_a_full_disk_under_the_output_is_told_in_one_line(folder, words):
    words = [*words, folder] if words == ("analyze",) else words
    with FULL.open("w") as full:
        run = curvewright(*words, stdout=full)
    assert run.returncode == 2
    (line,) = run.stderr.decode().splitlines()
    assert "the output could not be written: No space left on device" in line


def test_letters_that_the_output_does_not_know_are_printed_as_their_numbers(folder):
    only_ascii = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    run = curvewright("analyze", folder, stdout=subprocess.PIPE, env=only_ascii)
    assert run.returncode == 0
    assert not run.stderr
    assert rb"W/m\u00b2" in run.stdout
    run = curvewright(
        "analyze", folder, "--json", "-", "--quiet", stdout=subprocess.PIPE, env=only_ascii
    )
    told = [json.loads(line) for line in run.stdout.splitlines()]
    assert "W/m²" in str(told)


@pytest.mark.skipif(sys.platform != "linux", reason="file names are bytes on Linux alone")
def test_a_file_name_in_an_older_encoding_is_no_obstacle(tmp_path):
    folder = os.fsencode(tmp_path) + b"/Besuch S\xfcd"
    os.mkdir(folder)
    with open(folder + b"/Ger\xe4t.csv", "w") as file:
        file.write("no sweep")
    run = curvewright("analyze", tmp_path, stdout=subprocess.PIPE)
    assert run.returncode == 2
    assert b"Traceback" not in run.stderr
    assert b"Besuch" in run.stdout


def test_a_reader_that_goes_away_is_no_failure(folder):
    run = [sys.executable, "-c", RUN, "analyze", str(folder), "--json", "-", "--quiet"]
    with subprocess.Popen(run, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


@pytest.mark.skipif(os.name != "posix", reason="Ctrl+C reaches a whole group on POSIX")
def test_workers_end_with_what_started_them_and_say_nothing():
    """Ctrl+C in a terminal reaches every process of the group; a kill reaches one."""
    code = """
import time
from viewer.state.opening import worker_processes
worker_processes.WORTH_STARTING = 1
worker_processes._usable_cores = lambda: 2
if __name__ == "__main__":
    with worker_processes.Workers() as workers:
        workers.expect(10)
        from viewer.state.opening.worker_tasks import read_files
        for pool in workers.pools:
            pool.submit(read_files, ()).result() if {loaded} else None
        print("ready", flush=True)
        time.sleep(60)
"""
    for loaded, sent, whole_group in (
        (True, signal.SIGINT, True),
        (False, signal.SIGINT, True),
        (True, signal.SIGKILL, False),
    ):
        run = [sys.executable, "-c", code.format(loaded=loaded)]
        with subprocess.Popen(
            run, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
        ) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == b"ready\n"
            group = os.getpgid(process.pid)
            (os.killpg if whole_group else os.kill)(process.pid, sent)
            _, said = process.communicate(timeout=60)  # until the last that holds the pipe ends
        assert b"SpawnProcess" not in said, said.decode()
        deadline = time.monotonic() + 20
        while any_left(group) and time.monotonic() < deadline:
            time.sleep(0.05)
        assert not any_left(group)


def any_left(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except (ProcessLookupError, PermissionError):
        return False
    return True
