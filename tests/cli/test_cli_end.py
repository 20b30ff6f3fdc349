"""How a command ends, and what it does on a terminal, as real processes."""

from __future__ import annotations

import signal
import subprocess
import time
from pathlib import Path

import pytest
from command import in_terminal
from support import PATIENCE, in_fresh_interpreter


def test_a_closed_pipe_is_quiet(cli):
    colours = "\n".join(f"#{n:06x}" for n in range(0, 16_000_000, 160_000))
    with cli.start("match", "-", "--json", stdin=subprocess.PIPE) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(colours)
        process.stdin.close()
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr is not None
        assert process.stderr.read() == ""
        assert process.wait(60) == 0


# read(0, …) on x86-64 and on ARM, as Linux numbers it.
READS_INPUT = (["0", "0x0"], ["63", "0x0"])


@pytest.mark.skipif(not Path("/proc/self/syscall").exists(), reason="needs /proc")
def test_an_interrupt_ends_with_130_and_says_nothing(cli):
    with cli.start("match", "-", stdin=subprocess.PIPE) as process:
        # Once it waits for its input: a library that is being imported may swallow an interrupt.
        call = Path(f"/proc/{process.pid}/syscall")
        until = time.monotonic() + PATIENCE
        while call.read_text().split()[:2] not in READS_INPUT and time.monotonic() < until:
            time.sleep(0.01)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=PATIENCE)
        assert (process.returncode, out, err) == (130, "", "")


def test_a_terminal_gets_the_seam_in_true_colour(cli):
    assert "\x1b[48;2;255;99;71m" in in_terminal(cli)


@pytest.mark.parametrize("environment", [{"NO_COLOR": "1"}, {"TERM": "dumb"}, {"COLORTERM": ""}])
def test_no_colour_where_none_is_wanted_or_possible(cli, environment):
    assert "\x1b" not in in_terminal(cli, **environment)


def test_a_terminal_without_the_characters_gets_marks_not_a_traceback(ferrow):
    ferrow.environment["PYTHONIOENCODING"] = "ascii"
    assert "Oda's coat" in ferrow.real("log").stdout
    assert "?E" in ferrow.real("match", "tomato", "--top", "1").stdout


def test_an_interrupt_while_a_file_is_opened_says_nothing() -> None:
    """It comes between the opening and the `with` that would close it: nothing warns of that."""
    code = """
import sys
from tuimatch import cli
from tuimatch.cli import projects

def run(arguments):
    opened = open(cli.__file__)
    raise KeyboardInterrupt

projects.run = run
sys.exit(cli.run(["projects"]))
"""
    done = in_fresh_interpreter(code)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "")
