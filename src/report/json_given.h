/*
 * json_given.h - the part of sequence.json that tells what the user said.
 */
#ifndef TWOLIMB_JSON_GIVEN_H
#define TWOLIMB_JSON_GIVEN_H

#include <cjson/cJSON.h>

#include "report/report_internal.h"

/* Add the object "given"; false if there is no memory for it. */
bool tl_report_json_given(const tl_sequence *sequence, cJSON *root);

#endif
