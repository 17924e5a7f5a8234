/* SPDX-License-Identifier: Apache-2.0 */
/*
 * log - one line to standard error
 *
 *     warning ENG-004 engine 3: no beat for 2100 ms
 *
 * 1. The id is fixed text in the source, never reused for another meaning; people search for it.
 * 2. The text names its subject first, gives values with units, and blames nobody.
 * 3. One event is one line and one write, so lines of several threads do not mix.
 * 4. Remote text is an argument, never the format; it is made plain (proto/base/text.h) here.
 *
 * No time stamp: the journal adds it, and the record carries the times that matter.
 *
 * Where standard error leads to the journal ($JOURNAL_STREAM), or with TRAPLINE_LOG=journal in the
 * environment, "<3>" to "<6>" stands before the line: the priority, as in sd-daemon(3). With
 * TRAPLINE_LOG=json each line is an object:
 *
 *     {"level":"warning","id":"ENG-004","text":"engine 3: no beat for 2100 ms"}
 *
 * With TRAPLINE_LOG=plain it is as above, wherever it goes.
 */
#ifndef PROTO_BASE_LOG_H
#define PROTO_BASE_LOG_H

/* Bytes in a plain line with its newline; a longer one is cut and ends in "...". */
#define TL_LOG_LINE_MAX 1024

enum tl_log_level {
    TL_LOG_ERROR,   /* this program cannot do its job */
    TL_LOG_WARNING, /* it can, with something lost */
    TL_LOG_NOTICE,  /* a change a person on watch would want to know of */
    TL_LOG_INFO     /* what it does, for the one who sets it up */
};

/*
 * Write one line. May block as long as standard error does. Keeps errno. A failed write is dropped:
 * there is nowhere left to say so.
 *
 * id: borrowed, fixed text such as "ENG-004". fmt: printf format without newline.
 */
void tl_log(enum tl_log_level level, const char *id, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

/*
 * Write the line of a program that cannot start or go on: an error whose text is all there is to
 * see at a terminal, without level and id. Else as tl_log.
 */
void tl_log_fault(const char *fmt, ...) __attribute__((format(printf, 1, 2)));

#endif
