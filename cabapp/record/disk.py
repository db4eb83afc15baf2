"""The one place where the record touches the disk, so that a test can put a failing one there."""

import os
import sqlite3
from pathlib import Path
from typing import BinaryIO


class Disk:
    """The real disk. Errors come as sqlite3.Error and OSError and mean what they always mean."""

    connection_class: type[sqlite3.Connection] = sqlite3.Connection

    def connect(self, path: Path) -> sqlite3.Connection:
        """A connection for a file that is written: WAL, every commit synced, no waiting.

        It holds the file alone: two connections on one WAL can damage it (SQLite before 3.51.3,
        sqlite.org/wal.html, "WAL reset bug"), so whoever else opens it hears that it is locked.
        Isolation level None: transactions are begun and ended in words.
        """
        connection = sqlite3.connect(
            path,
            isolation_level=None,
            check_same_thread=False,
            timeout=0.0,
            factory=self.connection_class,
        )
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        return connection

    def append(self, path: Path) -> BinaryIO:
        """A plain file for appending bytes, without a buffer of its own."""
        return open(path, "ab", buffering=0)

    def sync(self, path: Path) -> None:
        """Push a file or a folder down to the storage."""
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)

    def free_bytes(self, folder: Path) -> int:
        """Bytes an ordinary program may still write there."""
        stat = os.statvfs(folder)
        return stat.f_bavail * stat.f_frsize

    def used_share(self, folder: Path) -> float:
        """Share of the storage that is used, 0 to 1."""
        stat = os.statvfs(folder)
        return 1.0 - stat.f_bavail / stat.f_blocks if stat.f_blocks else 1.0
