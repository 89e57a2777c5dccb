"""Evidence packs: complete, repeatable, and every change to one is found and said."""

import hashlib
import io
import json
import stat
import subprocess
import zipfile
from datetime import date
from pathlib import Path

import pytest

from viewer.reports.evidence_pack import MANIFEST, Packed, PackFile, write_pack
from viewer.reports.pack_check import PackError, check_pack

FILES = (
    PackFile("report.pdf", b"%PDF invented"),
    PackFile("raw/2025/C1/S1.csv", b"voltage,current\n0,9\n"),
    PackFile("raw/2025/C1/S2 \xc3\xa4.csv".encode("latin1").decode(), b"voltage,current\n"),
)


def pack(path: Path) -> Packed:
    *_, packed = write_pack(path, "Invented", "warranty", date(2025, 7, 1), FILES)
    assert isinstance(packed, Packed)
    return packed


def changed(path: Path, **new: bytes | None) -> Path:
    """The pack with entries replaced, added or (None) left out; names as keywords of a dict."""
    made = path.with_name("changed.zip")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(made, "w") as archive:
        for entry in old.infolist():
            content = new.pop(entry.filename, old.read(entry))
            if content is not None:
                archive.writestr(entry.filename, content)
        for name, content in new.items():
            assert content is not None
            archive.writestr(name, content)
    return made


def test_a_pack_agrees_with_its_manifest_and_is_the_same_every_time(tmp_path):
    packed = pack(tmp_path / "one.zip")
    pack(tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    check = check_pack(tmp_path / "one.zip")
    assert check.differences == ()
    assert (check.site, check.report, check.count) == ("Invented", "warranty", 4)
    assert check.manifest_sha256 == packed.manifest_sha256


def test_others_can_check_it_with_the_usual_tool(tmp_path):
    """sha256sum of GNU coreutils reads the list of sums."""
    pack(tmp_path / "one.zip")
    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        archive.extractall(tmp_path / "out")
    run = ["sha256sum", "--strict", "-c", "SHA256SUMS"]
    done = subprocess.run(run, cwd=tmp_path / "out", capture_output=True, check=False)
    assert done.returncode == 0
    assert done.stdout.count(b": OK") == 3


@pytest.mark.parametrize(
    ("new", "words"),
    [
        ({"report.pdf": b"%PDF inventeD"}, "report.pdf: its content was changed"),
        ({"report.pdf": b"%PDF"}, "report.pdf: it has 4 bytes, the manifest says 13"),
        ({"report.pdf": b"%PDF invented and more"}, "larger than the 13 bytes"),
        ({"report.pdf": None}, "report.pdf: the manifest names it, but the pack lacks it"),
        ({"extra.txt": b"x"}, "extra.txt: it is in the pack, but the manifest does not name it"),
        ({"../up.txt": b"x"}, "../up.txt: the name leads out of the folder"),
        ({"/top.txt": b"x"}, "/top.txt: the name leads out of the folder"),
        ({"C:evil.txt": b"x"}, "C:evil.txt: the name leads out of the folder"),
    ],
)
def test_every_change_is_found(tmp_path, new, words):
    pack(tmp_path / "one.zip")
    check = check_pack(changed(tmp_path / "one.zip", **new))
    assert len(check.differences) == 1
    assert words in check.differences[0]


def test_an_entry_that_occurs_twice_is_found(tmp_path):
    pack(tmp_path / "one.zip")
    with (
        pytest.warns(UserWarning, match="Duplicate"),
        zipfile.ZipFile(tmp_path / "one.zip", "a") as archive,
    ):
        archive.writestr("report.pdf", b"%PDF another")
    (said,) = check_pack(tmp_path / "one.zip").differences
    assert said == "report.pdf: it is in the pack twice."


def test_a_link_is_found(tmp_path):
    pack(tmp_path / "one.zip")
    entry = zipfile.ZipInfo("raw/link")
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    with zipfile.ZipFile(tmp_path / "one.zip", "a") as archive:
        archive.writestr(entry, "/etc/passwd")
    assert check_pack(tmp_path / "one.zip").differences == ("raw/link: it is a link, not a file.",)


def test_content_that_unpacks_to_far_more_is_not_unpacked(tmp_path):
    pack(tmp_path / "one.zip")
    bomb = changed(tmp_path / "one.zip", **{"report.pdf": b"\0" * 50_000_000})
    (said,) = check_pack(bomb).differences
    assert "larger than the 13 bytes it should have" in said


def test_damage_is_said(tmp_path):
    pack(tmp_path / "one.zip")
    content = bytearray((tmp_path / "one.zip").read_bytes())
    at = content.index(b"report.pdf") + len("report.pdf") + 2
    content[at : at + 4] = b"\xff\xff\xff\xff"
    (tmp_path / "one.zip").write_bytes(content)
    (said,) = check_pack(tmp_path / "one.zip").differences
    assert said.startswith("report.pdf: it cannot be unpacked")


def test_a_changed_manifest_is_known_by_its_own_checksum(tmp_path):
    packed = pack(tmp_path / "one.zip")
    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        table = json.loads(archive.read(MANIFEST))
    for one in table["files"]:
        if one["name"] == "report.pdf":
            one["sha256"] = hashlib.sha256(b"%PDF inventeD").hexdigest()
    new = {"report.pdf": b"%PDF inventeD", MANIFEST: json.dumps(table).encode()}
    check = check_pack(changed(tmp_path / "one.zip", **new))
    assert check.differences == ()
    assert check.manifest_sha256 != packed.manifest_sha256


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"not json", "not valid JSON"),
        (b"[" * 100_000, "not valid JSON"),
        (b'{"format": "other"}', "not an evidence pack of Curvewright"),
        (b'{"format": "curvewright evidence pack", "version": 9}', "version 9"),
        (
            b'{"format": "curvewright evidence pack", "version": 1, "files": [{"name": 1}]}',
            "does not list the files",
        ),
        (None, "has no manifest.json"),
    ],
)
def test_what_is_no_pack_is_refused_in_one_sentence(tmp_path, content, words):
    pack(tmp_path / "one.zip")
    with pytest.raises(PackError, match=words):
        check_pack(changed(tmp_path / "one.zip", **{MANIFEST: content}))


def test_files_that_are_no_zip_or_not_there_are_refused(tmp_path):
    (tmp_path / "x.zip").write_bytes(b"PK but no more")
    with pytest.raises(PackError, match="not a ZIP file"):
        check_pack(tmp_path / "x.zip")
    with pytest.raises(PackError, match="cannot be read"):
        check_pack(tmp_path / "gone.zip")


def test_giving_up_leaves_nothing_and_an_older_pack_stays(tmp_path):
    target = tmp_path / "one.zip"
    pack(target)
    before = target.read_bytes()
    steps = write_pack(target, "Other", "yearly", date(2025, 7, 1), FILES)
    next(steps)
    steps.close()
    assert target.read_bytes() == before
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize("name", ["../x", "/x", "a//b", "a\\b", "C:x", "", "a/./b"])
def test_names_that_lead_out_are_not_packed(tmp_path, name):
    with pytest.raises(ValueError, match="cannot hold a file named"):
        list(write_pack(tmp_path / "p.zip", "S", "k", date(2025, 7, 1), [PackFile(name, b"")]))
    assert list(tmp_path.iterdir()) == []


def test_an_encrypted_entry_is_said(tmp_path):
    pack(tmp_path / "one.zip")
    content = bytearray((tmp_path / "one.zip").read_bytes())
    central = content.index(b"PK\x01\x02")
    content[central + 8] |= 1
    (tmp_path / "one.zip").write_bytes(content)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        name = archive.infolist()[0].filename
    assert check_pack(tmp_path / "one.zip").differences == (f"{name}: it is encrypted.",)
