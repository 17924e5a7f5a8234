/* SPDX-License-Identifier: Apache-2.0 */
/*
 * signed.h - what counts only when two have signed it: overrides, and validators out of service.
 *
 * Pure. Any two distinct stations with the right, the second within 60 s of the first. An override
 * is live while both hold it: a signer that is lost is tolerated for 10 minutes, never past the
 * expiry; a signer that restarts has signed nothing and signs again. Either withdraws it at once.
 */
#ifndef TL_CORE_PICTURE_SIGNED_H
#define TL_CORE_PICTURE_SIGNED_H

#include "broker/core/picture/fold.h"

void tl_signed_update(struct tl_fold *fold, uint64_t now_ms);

#endif
