#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""signature.py - the committed frame and the vectors of RFC 8032, by PyNaCl

    signature.py GOLDEN_DIR

The frame change.frame.hex is laid out and signed as docs say: topic NUL signature envelope, Ed25519
over "trapline.v1" NUL topic NUL envelope, with the key of the seed 00 01 .. 1f. Nothing of ours
takes part here.
"""
import pathlib
import sys

import nacl.exceptions
import nacl.signing

# RFC 8032 section 7.1, TEST 1 to 3: seed, message, signature
VECTORS = (
    ("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60", "",
     "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b"
     "46bd25bf5f0595bbe24655141438e7a100b"),
    ("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb", "72",
     "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11"
     "d8c387b2eaeb4302aeeb00d291612bb0c00"),
    ("c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7", "af82",
     "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc"
     "6594a7c15e9716ed28dc027beceea1ec40a"),
)


def read_hex(path):
    return bytes.fromhex(path.read_text(encoding="ascii"))


def check_vectors():
    for seed, message, signature in VECTORS:
        key = nacl.signing.SigningKey(bytes.fromhex(seed))
        assert key.sign(bytes.fromhex(message)).signature.hex() == signature, seed


def check_frame(golden):
    golden = golden / "v1"
    frame = read_hex(golden / "change.frame.hex")
    envelope = read_hex(golden / "change.hex")
    topic, rest = frame.split(b"\0", 1)
    assert topic == b"change/engine-1/", topic
    assert rest[64:] == envelope, "the frame holds another envelope"
    signed = b"trapline.v1\0" + topic + b"\0" + envelope
    key = nacl.signing.SigningKey(bytes(range(32))).verify_key
    key.verify(signed, rest[:64])
    try:
        key.verify(signed[1:], rest[:64])
    except nacl.exceptions.BadSignatureError:
        return
    raise AssertionError("other bytes verify too")


def main():
    check_vectors()
    check_frame(pathlib.Path(sys.argv[1]))
    print("3 vectors and 1 frame agree")


if __name__ == "__main__":
    main()
