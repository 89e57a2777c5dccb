"""Builds the wheel, installs it in an environment of its own and uses it from another folder.

Run: `python tests/packaging/check_wheel.py`, which needs `pip install build` and a few minutes
for the installation. Ends with exit code 1 and a sentence when something is missing.
"""

import json
import os
import subprocess
import sys
import tempfile
import venv
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PARTS = ("resources", "example_traces")


def main() -> int:
    with tempfile.TemporaryDirectory() as made:
        work = Path(made)
        wheel = build_wheel(work)
        absent = missing_files(wheel)
        if absent:
            return failed(f"the wheel lacks {len(absent)} files, the first is {absent[0]}")
        scripts = install(wheel, work / "environment")
        example = answer(
            scripts, "import viewer.site_data.resource_folder as f; print(f.example_folder())", work
        )
        if ROOT in Path(example).parents:
            return failed(f"the example was taken from the checkout: {example}")
        return check_analysis(scripts, example, work) or check_report(scripts, example, work)


def build_wheel(work: Path) -> Path:
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--outdir", str(work), str(ROOT)],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    return next(work.glob("curvewright-*.whl"))


def missing_files(wheel: Path) -> list[str]:
    """What git keeps under viewer/, resources/ and example_traces/ and the wheel does not."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "viewer", *PARTS],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    )
    kept = [name for name in listed.stdout.split("\0") if name]
    wanted = [name if name.startswith("viewer/") else f"viewer/{name}" for name in kept]
    held = set(zipfile.ZipFile(wheel).namelist())
    return [name for name in wanted if name not in held]


def install(wheel: Path, place: Path) -> Path:
    venv.create(place, with_pip=True)
    scripts = place / ("Scripts" if os.name == "nt" else "bin")
    subprocess.run([scripts / "python", "-m", "pip", "install", "-q", str(wheel)], check=True)
    return scripts


def answer(scripts: Path, program: str, folder: Path) -> str:
    ran = subprocess.run(
        [scripts / "python", "-c", program], cwd=folder, check=True, capture_output=True, text=True
    )
    return ran.stdout.strip()


def check_analysis(scripts: Path, example: str, work: Path) -> int:
    """`curvewright analyze` on the packaged example, from a folder that is not the checkout."""
    out = work / "results.jsonl"
    ran = subprocess.run(
        [scripts / "curvewright", "analyze", example, "--json", str(out)],
        cwd=work,
        capture_output=True,
        text=True,
    )
    # The example holds files that cannot be read on purpose: 1 says that the rest was done.
    if ran.returncode != 1 or not out.is_file():
        return failed(f"analyze ended with {ran.returncode}: {ran.stderr.strip()}")
    lines = [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()]
    files = len([one for one in Path(example).rglob("*.csv") if one.is_file()])
    compared = sum(line["power_ratio"] is not None for line in lines if line["status"] == "ok")
    if compared < files // 2:
        return failed(f"only {compared} of {files} traces of the example were compared")
    sys.stdout.write(f"wheel complete; {compared} of {len(lines)} traces of its example compared\n")
    return 0


def check_report(scripts: Path, example: str, work: Path) -> int:
    """The document that needs templates, texts and fonts; its pages by what the preview uses."""
    out = work / "report.pdf"
    ran = subprocess.run(
        [scripts / "curvewright", "report", example, "--kind", "troubleshooting", "--out", out],
        cwd=work,
        capture_output=True,
        text=True,
    )
    if ran.returncode != 1 or not out.is_file():
        return failed(f"report ended with {ran.returncode}: {ran.stderr.strip()}")
    counting = f"import pypdfium2; print(len(pypdfium2.PdfDocument({str(out)!r})))"
    pages = int(answer(scripts, counting, work))
    if pages < 2:
        return failed(f"the report has {pages} page")
    sys.stdout.write(f"its report has {pages} pages\n")
    return 0


def failed(sentence: str) -> int:
    sys.stderr.write(f"check_wheel: {sentence}\n")
    return 1


if __name__ == "__main__":
    sys.exit(main())
