/*
 * limbs_name.c - what the picture of a frame is called: a name no shell, web page or file system
 * can stumble over, whatever the frame's own name is.
 */
#include <string.h>

#include "report/limbs_internal.h"

static const char safe[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789._-";
static const char ending[] = ".jpg";
enum { LEAST_DIGITS = 3, STEM_MAX = 64 }; /* bytes; the longest name of common systems is 255 */

static int digits_of(size_t number) {
    int digits = 1;
    while (number /= 10)
        digits++;
    return digits;
}

void tl_report_limbs_name(const tl_sequence *sequence, size_t i, tl_report_text *text) {
    const int digits = digits_of(sequence->count);
    const char *name = tl_report_base_name(sequence->frame[i].path);
    const char *dot = strrchr(name, '.');
    const size_t length = dot && dot != name ? (size_t)(dot - name) : strlen(name);
    tl_report_text_addf(text, "%0*zu-", digits < LEAST_DIGITS ? LEAST_DIGITS : digits, i + 1);
    for (size_t k = 0; k < length && k < STEM_MAX; k++)
        tl_report_text_bytes(text, name[k] && strchr(safe, name[k]) ? &name[k] : "_", 1);
    tl_report_text_add(text, ending);
}

bool tl_report_is_limbs_name(const char *name) {
    const size_t digits = strspn(name, "0123456789"), length = strlen(name);
    return digits >= LEAST_DIGITS && name[digits] == '-' && strspn(name, safe) == length &&
           length >= digits + strlen("-.jpg") &&
           strcmp(name + length - strlen(ending), ending) == 0;
}
