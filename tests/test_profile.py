"""Every law runs as the profile says: no deadline, cases that can be repeated."""

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import costly, of_profile

TESTS = Path(__file__).parent


def law(how=lambda test: test):
    return how(given(st.none())(lambda nothing: None))


def test_a_law_made_before_the_profile_is_noticed():
    assert of_profile(law())
    assert of_profile(law(costly))
    assert of_profile(lambda: None)
    assert not of_profile(law(settings(settings.get_profile("default"))))
    assert not of_profile(law(settings(deadline=200)))


@pytest.mark.parametrize("profile", ["suite", "long"])
def test_the_profile_named_on_the_command_line_holds_for_costly_laws_too(profile, tmp_path):
    (tmp_path / "test_some.py").write_text(
        "from hypothesis import given, settings, strategies as st\n"
        "from support import costly\n"
        "seen = []\n"
        "@costly\n"
        "@given(st.integers())\n"
        "def test_law(number):\n"
        "    seen.append(number)\n"
        "def test_cases():\n"
        "    usual = settings.default\n"
        "    assert usual.deadline is None\n"
        f"    assert usual.derandomize == {profile == 'suite'}\n"
        f"    assert len(seen) == {25 if profile == 'suite' else 1250}\n"
    )
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", str(tmp_path)]
    command += ["-p", "conftest", f"--hypothesis-profile={profile}"]
    done = subprocess.run(
        [*command, "--rootdir", str(tmp_path)],
        cwd=TESTS,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_run_with_such_a_law_is_refused(tmp_path):
    (tmp_path / "test_some.py").write_text(
        "from hypothesis import given, settings, strategies as st\n"
        "@settings(deadline=200)\n"
        "@given(st.integers())\n"
        "def test_law(number):\n"
        "    pass\n"
    )
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "conftest"]
    done = subprocess.run(
        [*command, "--rootdir", str(tmp_path), str(tmp_path)],
        cwd=TESTS,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 4
    assert "older than the profile: test_some.py::test_law" in done.stdout + done.stderr
