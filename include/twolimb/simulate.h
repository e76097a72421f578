/*
 * twolimb/simulate.h - pictures of an invented eclipse day, with the truth.
 *
 * Shares no code with the limb finder: only base and sky (and libjpeg to write).
 */
#ifndef TWOLIMB_SIMULATE_H
#define TWOLIMB_SIMULATE_H

#include "twolimb/sky.h"

enum { TL_SIMULATE_MESSAGE_SIZE = 200 };

/*
 * Read the scene file (JSON, see docs/scene.md), draw its frames into the new
 * folder `out` as JPEG with EXIF, and write truth.csv beside them. On
 * TL_ERR_FORMAT and others `message` names the cause.
 */
tl_status tl_simulate(const char *scene_path, const char *out,
                      char message[TL_SIMULATE_MESSAGE_SIZE]);

#endif
