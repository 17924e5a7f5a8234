#!/bin/bash
# SPDX-License-Identifier: Apache-2.0
#
# golden.sh - the committed bytes are what protoc makes of the committed text
#
#   golden.sh PROTOC SCHEMA_DIR GOLDEN_DIR             compare every .txtpb with its .hex
#   golden.sh PROTOC SCHEMA_DIR GOLDEN_DIR self-test   a changed text must differ
#
# So the bytes that the C tests take as given come from another implementation of protobuf.
# GOLDEN_DIR has a folder vN for each version of the schema: what a program of that version sends.
# Only the newest is added to; schema_gate.py holds the others, and the newest one's seal too.
# New bytes for a new text, in this format:
#   protoc --encode=trapline.v1.Envelope -I proto/schema trapline.proto <NAME.txtpb |
#       od -An -v -tx1 | sed 's/^ //' >NAME.hex
set -euo pipefail

protoc=$1
schema=$2
golden=$3

encode() {
    "$protoc" --encode=trapline.v1.Envelope --deterministic_output -I "$schema" trapline.proto |
        od -An -v -tx1 | sed 's/^ //'
}

if [ "${4:-}" = self-test ]; then
    if sed 's/pass: 7/pass: 8/' "$golden/v1/change.txtpb" | encode | cmp -s - "$golden/v1/change.hex"; then
        echo "a changed event gives the same bytes"
        exit 1
    fi
    exit 0
fi

status=0
count=0
for text in "$golden"/v*/*.txtpb; do
    bytes=${text%.txtpb}.hex
    count=$((count + 1))
    if ! diff <(encode <"$text") "$bytes"; then
        echo "$(basename "$text"): protoc makes other bytes (<) than $(basename "$bytes") (>)"
        status=1
    fi
done
if [ "$count" -ne "$(find "$golden" -name '*.hex' ! -name '*.frame.hex' | wc -l)" ] || [ "$count" -eq 0 ]; then
    echo "$count texts, and another number of .hex files"
    status=1
fi
echo "$count texts compared"
exit "$status"
