"""The set-up script installs what is missing and nothing else, or says in one line what to install."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

MISSING = "python3-venv libharfbuzz-subset0"

# Stand-ins for the programs that the script calls. `state` holds what the stand-in of Python reports as missing.
PROGRAMS = {
    "python3": 'if [ "$1" = - ]; then cat "$MACHINE/state"; else exit "${PYTHON_IS_OLD:-0}"; fi',
    "id": 'echo "$USER_ID"',
    "sudo": '[ "$SUDO_WORKS" = yes ] || exit 1; [ "$1" = -n ] && exit 0; echo "sudo $*" >>"$MACHINE/log"; "$@"',
    "apt-get": 'echo "apt-get $*" >>"$MACHINE/log"; case "$*" in *install*) echo "${LEFT:-}" >"$MACHINE/state" ;; esac',
}


@dataclass(frozen=True)
class Machine:
    """A machine made of stand-ins."""

    folder: Path
    script: Path

    def set_up(self, *needs: str, missing: str = MISSING, **state: str) -> subprocess.CompletedProcess[str]:
        """Run the set-up script on the machine, with no terminal."""
        (self.folder / "state").write_text(missing + "\n")
        return subprocess.run(
            ["/bin/sh", self.script, *(needs or ("python", "print"))],
            env={
                "PATH": f"{self.folder}/bin{os.pathsep}/usr/bin{os.pathsep}/bin",
                "MACHINE": str(self.folder),
                "USER_ID": "1000",
                "SUDO_WORKS": "no",
                **state,
            },
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
        )

    @property
    def calls(self) -> list[str]:
        """What was called to change the machine."""
        log = self.folder / "log"
        return log.read_text().splitlines() if log.exists() else []


@pytest.fixture
def machine(tmp_path: Path, repository: Path) -> Machine:
    (tmp_path / "bin").mkdir()
    for name, script in PROGRAMS.items():
        program = tmp_path / "bin" / name
        program.write_text(f"#!/bin/sh\n{script}\n")
        program.chmod(0o755)
    return Machine(tmp_path, repository / ".ci" / "setup")


def test_nothing_is_called_where_nothing_is_missing(machine: Machine) -> None:
    run = machine.set_up(missing="", USER_ID="0")
    assert (run.returncode, run.stdout, run.stderr, machine.calls) == (0, "", "", [])


def test_root_installs_exactly_what_is_missing(machine: Machine) -> None:
    run = machine.set_up(USER_ID="0")
    assert run.returncode == 0, run.stderr
    assert [call.split()[-1] for call in machine.calls] == ["update", "libharfbuzz-subset0"]
    assert machine.calls[-1].endswith(f" install --yes --no-install-recommends {MISSING}")


def test_sudo_is_used_by_an_ordinary_user(machine: Machine) -> None:
    run = machine.set_up(SUDO_WORKS="yes")
    assert run.returncode == 0, run.stderr
    assert any(call.startswith("sudo env ") and call.endswith(MISSING) for call in machine.calls)


def test_without_root_and_sudo_one_line_says_what_to_install(machine: Machine) -> None:
    run = machine.set_up()
    assert (run.returncode, run.stdout, machine.calls) == (1, "", [])
    assert run.stderr.count("\n") == 1
    assert f"sudo apt-get install {MISSING}\n" in run.stderr


def test_what_is_missing_after_the_install_is_an_error(machine: Machine) -> None:
    run = machine.set_up(USER_ID="0", LEFT="python3-venv")
    assert run.returncode == 1
    assert "python3-venv" in run.stderr


def test_an_old_python_is_an_error(machine: Machine) -> None:
    run = machine.set_up(PYTHON_IS_OLD="1")
    assert (run.returncode, machine.calls) == (1, [])
    assert "3.11" in run.stderr


def test_a_need_that_nobody_knows_is_an_error(machine: Machine) -> None:
    run = machine.set_up("pyton")
    assert (run.returncode, machine.calls) == (1, [])
    assert "pyton" in run.stderr


def test_the_real_python_reports_a_browser_that_is_missing(repository: Path, tmp_path: Path) -> None:
    # Neither a browser nor apt-get is on this path, so the browser is missing and cannot be installed.
    for name in ("cat", "id"):
        (tmp_path / name).symlink_to(f"/usr/bin/{name}")
    run = subprocess.run(
        ["/bin/sh", repository / ".ci" / "setup", "python", "browser"],
        env={"PATH": str(tmp_path), "PYTHON": sys.executable},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 1
    assert run.stderr.startswith("Liningbook set-up: please install what is missing")
    assert "apt-get install chromium" in run.stderr


@pytest.mark.usefixtures("pango")
def test_the_real_python_finds_the_libraries_that_draw_pages(repository: Path) -> None:
    run = subprocess.run(
        ["/bin/sh", repository / ".ci" / "setup", "print"],
        env={"PATH": "/usr/bin:/bin", "PYTHON": sys.executable},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (run.returncode, run.stdout, run.stderr) == (0, "", "")
