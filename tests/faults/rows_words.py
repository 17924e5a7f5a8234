# SPDX-License-Identifier: Apache-2.0
"""rows_words - what a node with a valid key says that it should not: bad frames, old lives, twins (32 to 48)."""

from table import Result, row  # noqa: F401
