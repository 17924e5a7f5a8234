# SPDX-License-Identifier: Apache-2.0
"""book - the chain and the seals of a record, read again by others

The standard library's sqlite3 and BLAKE2b (hashlib, RFC 7693), and PyNaCl's Ed25519 (RFC 8032), from
what docs/record.md says of the format; nothing of ours takes part. Also what somebody does who has
the file: alter rows, take rows out, write the chain anew.
"""
import hashlib
import sqlite3
import struct

import nacl.exceptions
import nacl.signing

TABLES = ("change", "judged", "verdict", "alert", "gap", "predicted", "predicted_setting",
          "expected", "beat")
NO_HASH = bytes(32)


def u64(number):
    return struct.pack("<Q", number & (2 ** 64 - 1))


def value(cell):
    if cell is None:
        return b"n"
    if isinstance(cell, int):
        return b"i" + u64(cell)
    raw = cell.encode() if isinstance(cell, str) else cell
    return (b"t" if isinstance(cell, str) else b"b") + struct.pack("<I", len(raw)) + raw


def row_hash(table, before, row_id, cells):
    while cells and cells[-1] is None:
        cells = cells[:-1]
    content = b"trapline.row.v1\0" + table.encode() + b"\0" + before + u64(row_id)
    return hashlib.blake2b(content + b"".join(map(value, cells)), digest_size=32).digest()


class Book:
    """A record that nobody writes to now."""

    def __init__(self, path):
        self.file = sqlite3.connect(str(path))

    def __enter__(self):
        return self

    def __exit__(self, kind, error, trace):
        self.file.commit()
        self.file.close()

    def rows(self, table):
        """(id, cells between id and hash, hash) of each row."""
        names = [row[1] for row in self.file.execute("PRAGMA table_info(%s)" % table)]
        order = ["id"] + [n for n in names if n not in ("id", "hash")] + ["hash"]
        for row in self.file.execute("SELECT %s FROM %s ORDER BY id" % (", ".join(order), table)):
            yield row[0], list(row[1:-1]), row[-1]

    def bad_rows(self):
        """(table, id) of each row whose hash is not that of its content behind the row before."""
        bad = []
        for table in TABLES:
            before, last = NO_HASH, 0
            for row_id, cells, stored in self.rows(table):
                if row_id != last + 1 or row_hash(table, before, row_id, cells) != stored:
                    bad.append((table, row_id))
                before, last = stored, row_id
        return bad

    def heads(self, text):
        return [(struct.unpack("<Q", text[at:at + 8])[0], text[at + 8:at + 40])
                for at in range(0, len(text), 40)]

    def bad_seals(self, keys):
        """Ids of seals that their recorder did not sign, or that name other rows."""
        bad, before = [], bytes(64)
        hashes = {(table, row_id): stored for table in TABLES
                  for row_id, _, stored in self.rows(table)}
        for row in self.file.execute("SELECT id, node, key_epoch, incarnation, wall_ms, heads,"
                                     " signature FROM seal ORDER BY id"):
            seal, node, epoch, life, wall_ms, heads, signature = row
            content = (b"trapline.seal.v1\0" + before + node.encode() + b"\0" + u64(epoch) +
                       u64(life) + u64(seal) + u64(wall_ms) + heads)
            try:
                nacl.signing.VerifyKey(keys[(node, epoch)]).verify(content, signature)
            except nacl.exceptions.BadSignatureError:
                bad.append(seal)
            named = zip(TABLES, self.heads(heads))
            if any(head and hashes.get((table, head)) != stored for table, (head, stored) in named):
                bad.append(seal)
            before = signature
        return bad

    def count(self, table):
        return self.file.execute("SELECT count(*) FROM %s" % table).fetchone()[0]

    def write_anew(self, table, since=1):
        """Every hash from that row on, as who knows the format can."""
        before = NO_HASH
        for row_id, cells, stored in list(self.rows(table)):
            if row_id >= since:
                stored = row_hash(table, before, row_id, cells)
                self.file.execute("UPDATE %s SET hash = ? WHERE id = ?" % table, (stored, row_id))
            before = stored
