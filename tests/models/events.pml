/* SPDX-License-Identifier: Apache-2.0 */
/* events.pml - EVENTS: one choice for each number of an event; a model defines EVENT(n). */
#define EVENTS_4(n)  EVENT(n) EVENT(n + 1) EVENT(n + 2) EVENT(n + 3)
#define EVENTS_16(n) EVENTS_4(n) EVENTS_4(n + 4) EVENTS_4(n + 8) EVENTS_4(n + 12)
#define EVENTS       EVENTS_16(0) EVENTS_16(16) EVENTS_16(32) EVENTS_16(48)
