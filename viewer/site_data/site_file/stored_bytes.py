"""Files kept whole inside the site file: every import's bytes and attached pictures."""

import hashlib
import sqlite3
import zlib

from viewer.site_data.site_file.connection import SiteFile
from viewer.site_data.site_file.errors import SiteFileError


def keep_bytes(connection: sqlite3.Connection, content: bytes) -> str:
    """Store the bytes once, compressed; their SHA-256 in hexadecimal."""
    digest = hashlib.sha256(content).hexdigest()
    known = connection.execute("SELECT 1 FROM stored_files WHERE sha256 = ?", (digest,))
    if known.fetchone() is None:
        connection.execute(
            "INSERT INTO stored_files VALUES (?, ?, ?)",
            (digest, len(content), zlib.compress(content)),
        )
    return digest


def read_bytes(site_file: SiteFile, digest: str) -> bytes:
    """The bytes as imported, checked against their SHA-256. Raises SiteFileError."""
    with site_file.reading() as connection:
        row = connection.execute(
            "SELECT content FROM stored_files WHERE sha256 = ?", (digest,)
        ).fetchone()
    if row is None:
        raise SiteFileError(
            f"{site_file.path.name}: it holds no file with the SHA-256 {digest[:12]}…."
        )
    try:
        content = zlib.decompress(row[0])
    except zlib.error:
        content = b""
    if hashlib.sha256(content).hexdigest() != digest:
        raise SiteFileError(
            f"{site_file.path.name}: the stored file {digest[:12]}… is damaged; "
            "go back to a copy of the site file."
        )
    return content
