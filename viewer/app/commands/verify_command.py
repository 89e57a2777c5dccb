"""`curvewright verify`: whether an evidence pack is still as it was made."""

import argparse
from pathlib import Path

from viewer.app.commands.complaints import complain
from viewer.physics.nomenclature import counted
from viewer.reports.pack_check import PackCheck, PackError, check_pack


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.description = (
        "Checks every file of an evidence pack against the SHA-256 in its manifest. "
        "Exit code 0: all agree; 1: something differs; 2: it is not a pack."
    )
    parser.add_argument("pack", type=Path, metavar="PACK", help="the .zip file")
    parser.add_argument(
        "--manifest",
        metavar="SHA256",
        help="SHA-256 of the manifest as written down when the pack was made",
    )


def run(arguments: argparse.Namespace) -> int:
    try:
        check = check_pack(arguments.pack)
    except PackError as error:
        complain("verify", str(error))
        return 2
    differences = [*check.differences, *_manifest_faults(check, arguments.manifest)]
    print(f"{check.site}: {check.report}, printed on {check.printed_on} by {check.program}")
    for sentence in differences:
        print(f"  {sentence}")
    word = "all as the manifest says" if not differences else f"{len(differences)} differ"
    print(f"{counted(check.count, 'file')}, {word}; manifest SHA-256 {check.manifest_sha256}")
    if not arguments.manifest:
        print(
            "Whoever changes a file can change the manifest too: compare its SHA-256 with the one "
            "written down when the pack was made (--manifest)."
        )
    return 1 if differences else 0


def _manifest_faults(check: PackCheck, expected: str | None) -> list[str]:
    if not expected or expected.strip().lower() == check.manifest_sha256:
        return []
    return ["manifest.json: it is not the one whose SHA-256 was written down."]
