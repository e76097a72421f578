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
 * Read the scene file (JSON, see docs/scene.md), draw its frames into the folder
 * `out` as JPEG with EXIF, and write truth.csv, truth_spots.csv and truth.json beside them. `out`
 * must not exist, or be empty; it appears whole or not at all. The same scene
 * gives the same pictures. Edges are true to 0.001 px for discs of 50 px and more.
 *
 * On failure `message` names the cause in one sentence, else it is empty:
 * TL_ERR_OPEN, TL_ERR_EMPTY_FILE (the scene file), TL_ERR_FORMAT (a field of it),
 * TL_ERR_NO_ECLIPSE, TL_ERR_RANGE (its day or place), TL_ERR_ARGUMENT (`out` holds
 * something), TL_ERR_WRITE, TL_ERR_NO_SPACE, TL_ERR_MEMORY.
 */
tl_status tl_simulate(const char *scene_path, const char *out,
                      char message[TL_SIMULATE_MESSAGE_SIZE]);

#endif
