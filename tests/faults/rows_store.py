# SPDX-License-Identifier: Apache-2.0
"""rows_store - disk, memory, clocks, configuration (7, 8, 49 to 54, 57 to 67)."""

from table import Result, row  # noqa: F401
