/* SPDX-License-Identifier: Apache-2.0 */
/* sound.h - an edge of the bell, handed to the ship's own command or to its lamp. */
#ifndef TL_UI_SOUND_H
#define TL_UI_SOUND_H

#include "clients/hook/lamp.h"
#include "clients/ui/bell.h"

/* A graver alert is raised again: the command sees "raised" with the new severity. */
void tl_ui_sound(struct tl_hook *hook, enum tl_bell_edge edge, const struct tl_alert *alert,
                 uint64_t now_ms);
/* The same as a line to the lamp. */
void tl_ui_signal(struct tl_lamp *lamp, enum tl_bell_edge edge, const struct tl_alert *alert);

#endif
