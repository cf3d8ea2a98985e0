"""What a user installs: a wheel made from the source package works outside the clone, in an empty environment."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tarfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

SITE = ["site/icon.svg", "site/index.html", "site/manifest.webmanifest", "site/sw.js"]
OUTPUTS = [
    ".liningbook-build.json", ".liningbook-build.lock", "bundle.json",
    "card-copies.pdf", "card.pdf", "copies-register.pdf", "protocol.pdf",
    *SITE, "withdrawal-notice.pdf",
]  # fmt: skip
WITHOUT_PANGO = [".liningbook-build.json", ".liningbook-build.lock", "bundle.json", *SITE]


def clean_environment() -> dict[str, str]:
    """The environment without anything that leads back to the clone or its virtual environment."""
    return {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "VIRTUAL_ENV"))}


def run(*command: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run a program outside the clone."""
    return subprocess.run(
        command, cwd=cwd, env=clean_environment(), capture_output=True, text=True, stdin=subprocess.DEVNULL, check=False
    )


def files_in(folder: Path) -> Iterator[str]:
    """Paths of all files below a folder, with `/`; what Python leaves behind is none of them."""
    for path in sorted(folder.rglob("*")):
        if path.is_file() and "__pycache__" not in path.parts:
            yield path.relative_to(folder).as_posix()


@dataclass(frozen=True)
class Packages:
    """The two files of a release."""

    sdist: Path
    wheel: Path


@pytest.fixture(scope="module")
def packages(repository: Path, tmp_path_factory: pytest.TempPathFactory) -> Packages:
    """The source package, and the wheel built from it (not from the clone)."""
    out = tmp_path_factory.mktemp("dist")
    built = run(sys.executable, "-m", "build", "--no-isolation", "--outdir", out, repository, cwd=out)
    assert built.returncode == 0, built.stdout + built.stderr
    [sdist], [wheel] = out.glob("*.tar.gz"), out.glob("*.whl")
    return Packages(sdist, wheel)


@dataclass(frozen=True)
class Installation:
    """An environment that holds the wheel and its base dependencies, and a copy of the demonstration."""

    python: Path
    work: Path
    protocol: Path

    def liningbook(self, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
        """Call the command line from a folder that is not the clone."""
        return run(self.python.parent / "liningbook", *arguments, cwd=self.work)

    def install(self, requirement: str) -> None:
        """Install with pip, or fail with what pip says."""
        done = run(
            self.python, "-m", "pip", "--disable-pip-version-check", "install", "--quiet", requirement, cwd=self.work
        )
        assert done.returncode == 0, done.stdout + done.stderr


@pytest.fixture(scope="module")
def installation(packages: Packages, demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> Installation:
    """Base dependencies only: no extra."""
    home = tmp_path_factory.mktemp("elsewhere")
    work = home / "work"
    work.mkdir()
    made = run(sys.executable, "-m", "venv", home / "environment", cwd=home)
    assert made.returncode == 0, made.stdout + made.stderr
    protocol = Path(shutil.copytree(demonstration, home / "protocol"))
    installation = Installation(home / "environment" / "bin" / "python", work, protocol)
    installation.install(str(packages.wheel))
    return installation


@pytest.fixture(scope="module")
def printing_installation(packages: Packages, installation: Installation) -> Installation:
    """The same environment with the extra `all` added; tests of the base come before."""
    installation.install(f"{packages.wheel}[all]")
    return installation


def test_the_wheel_holds_schemas_site_and_type_marker(packages: Packages, repository: Path) -> None:
    with zipfile.ZipFile(packages.wheel) as wheel:
        for folder, name in {"schema": "_schema", "site": "_site", "builder/liningbook": ""}.items():
            for file in files_in(repository / folder):
                inside = "/".join(part for part in ("liningbook", name, file) if part)
                assert wheel.read(inside) == (repository / folder / file).read_bytes(), inside
        names = wheel.namelist()
        assert any(name.startswith("liningbook/_schema/") for name in names)
        assert any(name.startswith("liningbook/_site/") for name in names)
        assert "liningbook/py.typed" in names
        metadata = {name.partition("/")[0] for name in names if ".dist-info/" in name}
        assert {name.partition("/")[0] for name in names} == {"liningbook"} | metadata
        assert any(name.endswith("/licenses/LICENSE") for name in names)


def test_the_source_package_holds_all_that_the_tests_and_the_documents_need(
    packages: Packages, repository: Path
) -> None:
    with tarfile.open(packages.sdist) as sdist:
        names = {name.partition("/")[2] for name in sdist.getnames()}
    wanted = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "Makefile", "pyproject.toml", ".ci/setup"}
    for folder in ("builder", "guidelines", "schema", "site", "tests"):
        wanted |= {f"{folder}/{file}" for file in files_in(repository / folder)}
    assert wanted - names == set()


def test_the_installed_package_is_not_the_clone(installation: Installation, repository: Path) -> None:
    where = run(installation.python, "-c", "import liningbook; print(liningbook.__file__)", cwd=installation.work)
    assert where.returncode == 0, where.stderr
    assert Path(where.stdout.strip()).is_relative_to(installation.python.parent.parent)
    assert not Path(where.stdout.strip()).is_relative_to(repository)


@pytest.fixture(scope="module")
def without_tables(installation: Installation) -> Path:
    """The demonstration without its study tables, which need an extra."""
    protocol = Path(shutil.copytree(installation.protocol, installation.work / "without-tables"))
    shutil.rmtree(protocol / "evidence")
    for rule in (protocol / "rules").glob("*.md"):
        rule.write_text(re.sub(r"\n  tables: .*", "", rule.read_text("utf-8")), "utf-8")
    return protocol


def test_the_demonstration_passes_check_where_nothing_but_the_wheel_is_installed(
    installation: Installation, without_tables: Path
) -> None:
    check = installation.liningbook("check", without_tables)
    assert check.returncode == 0, check.stdout + check.stderr


def test_without_the_evidence_extra_study_tables_say_what_to_install(installation: Installation) -> None:
    check = installation.liningbook("check", installation.protocol)
    assert check.returncode == 1
    assert "pip install 'liningbook[evidence]'" in check.stdout
    assert check.stdout.count("(not-read)") == 1
    assert "Traceback" not in check.stderr


def test_bundle_and_page_are_built_without_the_pdf_extra(installation: Installation, without_tables: Path) -> None:
    out = installation.work / "plain"
    build = installation.liningbook("build", without_tables, "--out", out, "--only", "bundle,site")
    assert build.returncode == 0, build.stdout + build.stderr
    assert list(files_in(out)) == WITHOUT_PANGO


def test_without_the_pdf_extra_a_full_build_says_what_to_install(
    installation: Installation, without_tables: Path
) -> None:
    out = installation.work / "refused"
    build = installation.liningbook("build", without_tables, "--out", out)
    assert build.returncode in (1, 2)
    assert "install" in build.stderr
    assert "Traceback" not in build.stderr
    assert not out.exists() or list(files_in(out)) == []


@pytest.mark.usefixtures("pango")
def test_a_full_build_of_the_demonstration_outside_the_clone(printing_installation: Installation) -> None:
    out = printing_installation.work / "full"
    build = printing_installation.liningbook("build", printing_installation.protocol, "--out", out)
    assert build.returncode == 0, build.stdout + build.stderr
    assert list(files_in(out)) == OUTPUTS
    for name in ("card.pdf", "protocol.pdf"):
        assert (out / name).read_bytes().startswith(b"%PDF-")
