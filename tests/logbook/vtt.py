# SPDX-License-Identifier: Apache-2.0
"""vtt - the grammar of a WebVTT file, as its standard words it

WebVTT: The Web Video Text Tracks Format, W3C Candidate Recommendation, 4 April 2019, section 4.1
"WebVTT file structure" (file body, cue block, cue timings, timestamp, cue identifier, comment
block), 4.2.2 "WebVTT caption or subtitle cue text", 4.2.3 "WebVTT chapter title text" and 4.6
"WebVTT file using only nested cues". Written from the standard, not from the program.
"""
import html
import re

TIMESTAMP = r"(?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3})"
TIMINGS = re.compile(TIMESTAMP + r"[ \t]+-->[ \t]+" + TIMESTAMP + r"(?:[ \t]+\S.*)?")
# a reference, or any character but & and <; no arrow
TEXT = re.compile(r"(?:&(?:amp|lt|gt|lrm|rlm|nbsp|#\d+);|[^&<])*")


class Wrong(Exception):
    pass


def seconds(hours, minutes, whole, thousandths):
    return ((int(hours or 0) * 60 + int(minutes)) * 60 + int(whole)) + int(thousandths) / 1000


def blocks(text):
    """The file's blocks: lines between blank lines."""
    if "\0" in text:
        raise Wrong("U+0000")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not re.fullmatch("\ufeff?WEBVTT(?:[ \t][^\n]*)?", lines[0]):
        raise Wrong("no signature: " + lines[0])
    if lines[1] != "":
        raise Wrong("two or more line terminators belong behind the signature")
    block = []
    for line in lines[1:] + [""]:
        if line:
            block.append(line)
        elif block:
            yield block
            block = []


def cue(block):
    name = None
    if "-->" not in block[0]:
        name, block = block[0], block[1:]
    timings = TIMINGS.fullmatch(block[0]) if block else None
    if timings is None:
        raise Wrong("no timings: %r" % block)
    begin, end = seconds(*timings.groups()[:4]), seconds(*timings.groups()[4:8])
    if end <= begin:
        raise Wrong("the end must be greater than the start: " + block[0])
    for line in block[1:]:
        if "-->" in line or not TEXT.fullmatch(line):
            raise Wrong("not cue text: " + line)
    return name, begin, end, html.unescape("\n".join(block[1:]))


def parse(text):
    """[(identifier, begin, end, text)]; raises Wrong."""
    cues, names = [], set()
    for block in blocks(text):
        if re.match(r"NOTE(?:[ \t]|$)", block[0]):
            if any("-->" in line for line in block):
                raise Wrong("an arrow in a comment")
            continue
        one = cue(block)
        if one[0] is not None and one[0] in names:
            raise Wrong("identifier twice: " + one[0])
        names.add(one[0])
        # "the start time must be greater than or equal to the start time offsets of all previous"
        if cues and one[1] < cues[-1][1]:
            raise Wrong("not in order: %r" % (one,))
        cues.append(one)
    return cues


def nested(cues):
    """Only nested cues: of any two, one is in the other or they do not overlap."""
    for i, (_, a, b, _) in enumerate(cues):
        for _, c, d, _ in cues[i + 1:]:
            if a < c < b < d or c < a < d < b:
                return False
    return True
