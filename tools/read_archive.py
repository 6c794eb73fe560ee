#!/usr/bin/env python3
"""Reads a backup of the book without any of the program's own code.

    read_archive.py ARCHIVE CODE-FILE

ARCHIVE is what `backup` wrote, CODE-FILE holds the printed recovery code. It
opens the archive by the program `age` (Debian's package: the format's reference
implementation, in Go), walks the chain of events with SHA-256, opens every seal
whose key is there, and prints one JSON object: {"ok", "events", "opened",
"erased", "blobs", "head"}; with "fault" and exit code 1 at the first row that
does not follow.

Needs the PyPI packages of tools/python.txt (cryptography, PyNaCl).
"""

import hashlib
import hmac
import io
import json
import re
import struct
import subprocess
import sys
import tarfile
import tempfile
import uuid

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from nacl.bindings import crypto_aead_xchacha20poly1305_ietf_decrypt as xchacha
from nacl.exceptions import CryptoError


def age_open(sealed: bytes, identity: str) -> bytes:
    with tempfile.NamedTemporaryFile() as file:
        file.write(sealed)
        file.flush()
        # The secret goes in by a pipe: neither an argument nor a file.
        command = ["age", "--decrypt", "--identity", "-", file.name]
        return subprocess.run(command, input=identity.encode(), stdout=subprocess.PIPE, check=True).stdout


def framed(*parts: bytes) -> bytes:
    """Each part after its length in eight bytes, highest first."""
    return b"".join(struct.pack(">Q", len(part)) + part for part in parts)


def fields(data: bytes):
    at = 0
    while at < len(data):
        (length,) = struct.unpack_from(">Q", data, at)
        yield data[at + 8 : at + 8 + length]
        at += 8 + length


def rows(data: bytes):
    nine = []
    for field in fields(data):
        nine.append(field)
        if len(nine) == 9:
            yield tuple(nine)
            nine = []
    if nine:
        yield tuple(nine)


def derived(key: bytes, purpose: bytes) -> bytes:
    return HKDF(algorithm=hashes.SHA256(), length=32, salt=b"strandwright book 1", info=purpose).derive(key)


def unsealed(key: bytes, bound: bytes, sealed: bytes) -> bytes:
    return xchacha(sealed[24:], bound, sealed[:24], key)


def code(key: bytes, *parts: bytes) -> bytes:
    return hmac.new(key, framed(*parts), hashlib.sha256).digest()


def number_of(value: int) -> bytes:
    return struct.pack(">q", value)


def list_of_erased(listed: dict, salon: bytes, key: bytes) -> tuple[int, bytes]:
    """How many streams were erased, and the last line's code, every code checked."""
    last = bytes(32)
    for number, line in enumerate(listed["erased"], start=1):
        last = code(key, salon, number_of(number), last, stream_bytes(line["stream"]), number_of(line["at_ms"]))
        if last.hex() != line["code"]:
            raise SystemExit(f"line {number} of the list of erased clients was changed")
    return len(listed["erased"]), last


def stream_bytes(text: str) -> bytes:
    letters = {"client": b"c", "health": b"h", "shelf": b"s", "money": b"m", "diary": b"d", "house": b"o"}
    sort, _, name = text.partition("/")
    return letters[sort] + (uuid.UUID(name).bytes if name else b"")


def read(archive: str, printed: str) -> dict:
    letters = re.sub(r"[\s-]", "", printed).upper().removeprefix("AGESECRETKEY1")
    identity = "AGE-SECRET-KEY-1" + letters
    with open(archive, "rb") as file:
        opened = age_open(file.read(), identity)
    members = tarfile.open(fileobj=io.BytesIO(opened), mode="r:gz")
    names = members.getnames()
    part = lambda name: members.extractfile(name).read()
    manifest, keys_file = json.loads(part("manifest.json")), json.loads(part("keys.json"))
    salon = uuid.UUID(manifest["salon"]).bytes
    data_key = age_open(bytes.fromhex(keys_file["slot"]["sealed"]), identity)
    wrapping = derived(data_key, b"wrapping")
    keys = {}
    for line in keys_file["keys"]:
        owner = stream_bytes(line["owner"])
        keys[owner] = unsealed(wrapping, framed(b"key", salon, owner), bytes.fromhex(line["wrapped"]))

    seq, opened_rows, erased_rows = 0, 0, 0
    head = hashlib.sha256(framed(salon)).digest()
    versions: dict[bytes, int] = {}
    for name in sorted(name for name in names if name.startswith("events/")):
        for row in rows(part(name)):
            seq += 1
            if len(row) != 9 or len(row[0]) != 8:
                return {"ok": False, "fault": f"event {seq} is cut off"}
            number, stream, version, at, actor, sort, form, body, stated = row
            head = hashlib.sha256(framed(head, *row[:8])).digest()
            if struct.unpack(">Q", number)[0] != seq or head != stated:
                return {"ok": False, "fault": f"event {seq} does not follow from the row before"}
            versions[stream] = versions.get(stream, 0) + 1
            if struct.unpack(">Q", version)[0] != versions[stream]:
                return {"ok": False, "fault": f"event {seq} is not its stream's next version"}
            key = keys.get(stream if stream[:1] in (b"c", b"h") else b"o")
            if key is None:
                erased_rows += 1
                continue
            try:
                unsealed(key, framed(salon, stream, version, form), body)
            except CryptoError:
                return {"ok": False, "fault": f"event {seq} does not open"}
            opened_rows += 1
    if seq != manifest["events"] or head.hex() != manifest["head"]:
        return {"ok": False, "fault": "the chain does not end where the manifest says"}
    erased, last = list_of_erased(json.loads(part("erased.json")), salon, derived(keys[b"o"], b"erased"))
    vouched = code(derived(keys[b"o"], b"head"), salon, number_of(seq), head, number_of(erased), last)
    if vouched.hex() != manifest["code"]:
        return {"ok": False, "fault": "the head is not the one that was written with the house key"}
    blobs = 0
    for line in json.loads(part("blobs.json")):
        name = uuid.UUID(line["id"])
        sealed, owner = part("blobs/" + name.hex), stream_bytes(line["owner"])
        if hashlib.sha256(sealed).hexdigest() != line["sha256"]:
            return {"ok": False, "fault": f"blob {name.hex} is not what was kept"}
        unsealed(keys[owner], framed(b"blob", salon, owner, name.bytes), sealed)
        blobs += 1
    return {"ok": True, "events": seq, "opened": opened_rows, "erased": erased_rows, "blobs": blobs, "head": head.hex()}


if __name__ == "__main__":
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    with open(sys.argv[2], encoding="utf-8") as code_file:
        result = read(sys.argv[1], code_file.read())
    print(json.dumps(result))
    sys.exit(0 if result["ok"] else 1)
