# SPDX-License-Identifier: Apache-2.0
"""monitored - pages of metrics as an independent parser reads them, and the table of docs/monitoring.md"""
import collections
import os
import pathlib
import re

from prometheus_client.openmetrics.parser import text_string_to_metric_families

SOURCE = pathlib.Path(os.environ.get("TL_SOURCE_DIR", pathlib.Path(__file__).resolve().parents[2]))
PAGE = SOURCE / "docs" / "monitoring.md"

Row = collections.namedtuple("Row", "type labels of")


def parse(text):
    """{name: family}; the parser raises ValueError for what is no OpenMetrics."""
    families = {}
    for family in text_string_to_metric_families(text):
        assert family.name not in families, family.name
        families[family.name] = family
    return families


def labels_of(family):
    """The names of its labels; each sample has the same ones."""
    names = {tuple(sorted(sample.labels)) for sample in family.samples}
    assert len(names) == 1, (family.name, names)
    return set(names.pop())


def value(families, name, **labels):
    """The one sample of that family with these labels, of a counter the total."""
    found = [sample.value for sample in families[name].samples if sample.labels == labels]
    assert len(found) == 1, (name, labels, families[name].samples)
    return found[0]


def document():
    """{name: Row} of the table "What is on it"."""
    rows = {}
    for line in PAGE.read_text().splitlines():
        cells = [cell.strip() for cell in line.split("|")]
        name = re.fullmatch(r"`(trapline_[a-z_]+)`", cells[1]) if len(cells) == 7 else None
        if name:
            assert name[1] not in rows, name[1]
            rows[name[1]] = Row(cells[2], {word for word in cells[3].split(", ") if word},
                                set(cells[4].split(", ")))
    return rows
