# SPDX-License-Identifier: Apache-2.0
"""rows_wire - channels and peers that cannot be trusted: the seven threats of EN 50159, floods, keys (18, 23 to 25, 28 to 31)."""

from table import Result, row  # noqa: F401
