# SPDX-License-Identifier: Apache-2.0
"""rows_glass - terminals, keys, entries, people (10 to 12, 68 to 77)."""

from table import Result, row  # noqa: F401
