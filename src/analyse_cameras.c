/*
 * analyse_cameras.c - which camera took which picture.
 *
 * A clock belongs to a body, so pictures are told apart by make, model and serial number. Copies
 * that have lost their EXIF are known by the beginning of their names, which a camera keeps.
 */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "analyse_steps.h"
#include "frame/frame_internal.h"

#define NOBODY ((size_t)-1)

/* Which of a camera's two readings, where it has two: see split_by_zone. */
typedef enum times { TIMES_ALL, TIMES_WITH_ZONE, TIMES_WITHOUT } times;

/* Pictures that share a clock. */
typedef struct group {
    size_t first; /* a picture that says what its body is */
    bool named;
    times which;
    size_t telling; /* pictures with the Sun; if no camera has any, pictures that can be read */
    size_t count;
} group;

typedef struct grouping {
    const tl_sequence *sequence;
    size_t *of;  /* owned; the group of each picture */
    group *item; /* owned; room for two a picture */
    size_t count;
} grouping;

static const tl_frame_info *info_of(const grouping *g, size_t frame) {
    return &g->sequence->frame[frame].info;
}

static bool is_named(const tl_frame_info *info) {
    return info->make[0] != '\0' || info->model[0] != '\0';
}

static bool same_model(const tl_frame_info *a, const tl_frame_info *b) {
    return strcmp(a->make, b->make) == 0 && strcmp(a->model, b->model) == 0;
}

static size_t add_group(grouping *g, size_t first, bool named) {
    g->item[g->count] = (group){.first = first, .named = named};
    return g->count++;
}

/* ---- pictures that name their camera ------------------------------------------------------ */

/* The group of this very body, or a new one. */
static size_t body(grouping *g, size_t frame) {
    const tl_frame_info *info = info_of(g, frame);
    for (size_t k = 0; k < g->count; k++) {
        const tl_frame_info *other = info_of(g, g->item[k].first);
        if (same_model(info, other) && strcmp(info->serial, other->serial) == 0)
            return k;
    }
    return add_group(g, frame, true);
}

/* A picture without a serial number is of the only body of its model; of two, of neither. */
static size_t body_without_serial(grouping *g, size_t frame) {
    size_t found = NOBODY, bodies = 0;
    for (size_t k = 0; k < g->count; k++)
        if (same_model(info_of(g, frame), info_of(g, g->item[k].first))) {
            found = k;
            bodies++;
        }
    return bodies == 1 ? found : body(g, frame);
}

static void group_named(grouping *g) {
    for (int with_serial = 1; with_serial >= 0; with_serial--)
        for (size_t i = 0; i < g->sequence->count; i++) {
            const tl_frame_info *info = info_of(g, i);
            if (is_named(info) && (info->serial[0] != '\0') == with_serial)
                g->of[i] = with_serial ? body(g, i) : body_without_serial(g, i);
        }
}

/* ---- the others --------------------------------------------------------------------------- */

/* What stands before the number in a name: "IMG_" of IMG_0012.JPG. */
static size_t prefix_length(const char *name) {
    return strcspn(name, "0123456789");
}

/* Names that begin with a digit say nothing of who gave them. */
static bool same_prefix(const char *a, const char *b) {
    const size_t length = prefix_length(a);
    return length > 0 && length == prefix_length(b) && strncmp(a, b, length) == 0;
}

/* The one camera whose files begin like this one; NOBODY if none does, or several. */
static size_t owner_of_prefix(const grouping *g, size_t frame) {
    const char *name = tl_frame_base_name(g->sequence->frame[frame].path);
    size_t owner = NOBODY;
    for (size_t i = 0; i < g->sequence->count; i++) {
        if (!is_named(info_of(g, i)) ||
            !same_prefix(name, tl_frame_base_name(g->sequence->frame[i].path)))
            continue;
        if (owner != NOBODY && owner != g->of[i])
            return NOBODY;
        owner = g->of[i];
    }
    return owner;
}

static size_t unnamed_group(const grouping *g) {
    for (size_t k = 0; k < g->count; k++)
        if (!g->item[k].named)
            return k;
    return NOBODY;
}

static size_t home_of_unnamed(grouping *g, size_t frame) {
    size_t home = owner_of_prefix(g, frame);
    if (home == NOBODY)
        home = unnamed_group(g);
    return home != NOBODY ? home : add_group(g, frame, false);
}

static void group_unnamed(grouping *g) {
    for (size_t i = 0; i < g->sequence->count; i++)
        if (!is_named(info_of(g, i)))
            g->of[i] = home_of_unnamed(g, i);
}

/* ---- two readings of one camera ----------------------------------------------------------- */

static bool without_zone(const tl_camera_time *time) {
    return time->source != TL_TIME_NONE && !time->zone_known;
}

/*
 * File names in UTC beside others in local time, EXIF with a zone beside a copy without: until the
 * zone is known these are two clocks. A zone given by the user makes them one.
 */
static void split_by_zone(grouping *g) {
    const size_t bodies = g->count;
    for (size_t k = 0; k < bodies; k++) {
        size_t with = 0, without = 0;
        for (size_t i = 0; i < g->sequence->count; i++) {
            const tl_camera_time *time = &info_of(g, i)->time;
            if (g->of[i] != k || time->source == TL_TIME_NONE)
                continue;
            with += time->zone_known;
            without += without_zone(time);
        }
        if (with == 0 || without == 0)
            continue;
        g->item[k].which = TIMES_WITH_ZONE;
        const size_t other = add_group(g, g->item[k].first, g->item[k].named);
        g->item[other].which = TIMES_WITHOUT;
        for (size_t i = 0; i < g->sequence->count; i++)
            if (g->of[i] == k && without_zone(&info_of(g, i)->time))
                g->of[i] = other;
    }
}

/* ---- names -------------------------------------------------------------------------------- */

/* The words of a text with one blank between them. */
static void tidy(const char *text, char tidied[TL_CAMERA_TEXT_SIZE]) {
    size_t length = 0;
    for (; *text != '\0'; text++)
        if (*text != ' ' || (length > 0 && text[1] != ' ' && text[1] != '\0'))
            tidied[length++] = *text;
    tidied[length] = '\0';
}

static size_t word_length(const char *text) {
    size_t length = 0;
    while (text[length] != '\0' && isalnum((unsigned char)text[length]))
        length++;
    return length;
}

/* Whether the model begins with a word of the make, as many do. */
static bool holds_make(const char *model, const char *make) {
    const size_t length = word_length(model);
    for (const char *word = make; length > 0 && *word != '\0'; word++) {
        const bool starts = word == make || !isalnum((unsigned char)word[-1]);
        if (starts && word_length(word) == length && strncasecmp(word, model, length) == 0)
            return true;
    }
    return false;
}

enum { SERIAL_SHOWN = 4 }; /* characters: enough to find the body, too few to trace its owner */

static const char *serial_end(const char *serial, size_t shown) {
    const size_t length = strlen(serial);
    return serial + (length > shown ? length - shown : 0);
}

/* Whether another body of this model is in the run; `shown` grows until their numbers differ. */
static bool has_sibling(const grouping *g, const group *own, size_t *shown) {
    const tl_frame_info *info = info_of(g, own->first);
    bool any = false;
    for (size_t k = 0; k < g->count; k++) {
        const tl_frame_info *other = info_of(g, g->item[k].first);
        if (!same_model(info, other) || strcmp(info->serial, other->serial) == 0)
            continue;
        any = true;
        while (*shown < TL_CAMERA_TEXT_SIZE &&
               strcmp(serial_end(info->serial, *shown), serial_end(other->serial, *shown)) == 0)
            ++*shown;
    }
    return any;
}

static void write_name(const grouping *g, const group *own, char name[TL_SEQUENCE_NAME_SIZE]) {
    static const char *const which[] = {"", " (times with a zone)", " (times without)"};
    const tl_frame_info *info = info_of(g, own->first);
    char make[TL_CAMERA_TEXT_SIZE], model[TL_CAMERA_TEXT_SIZE], tail[TL_CAMERA_TEXT_SIZE + 16] = "";
    size_t shown = SERIAL_SHOWN;
    if (!own->named) {
        snprintf(name, TL_SEQUENCE_NAME_SIZE, "an unnamed camera%s", which[own->which]);
        return;
    }
    tidy(info->make, make);
    tidy(info->model, model);
    if (holds_make(model, make))
        make[0] = '\0';
    const bool sibling = has_sibling(g, own, &shown);
    if (sibling && info->serial[0] != '\0')
        snprintf(tail, sizeof tail, ", serial ...%s", serial_end(info->serial, shown));
    else if (sibling)
        snprintf(tail, sizeof tail, ", serial not given");
    snprintf(name, TL_SEQUENCE_NAME_SIZE, "%s%s%s%s%s", make,
             make[0] != '\0' && model[0] != '\0' ? " " : "", model, tail, which[own->which]);
}

/* ---- the list ----------------------------------------------------------------------------- */

static bool comes_before(const group *a, const group *b) {
    if (a->telling != b->telling)
        return a->telling > b->telling;
    if (a->count != b->count)
        return a->count > b->count;
    return a->first != b->first ? a->first < b->first : a->which < b->which;
}

/* The place of a group in the list: the one with most pictures of the Sun first. */
static size_t place(const grouping *g, size_t k) {
    size_t before = 0;
    for (size_t i = 0; i < g->count; i++)
        before += comes_before(&g->item[i], &g->item[k]);
    return before;
}

static void count_pictures(grouping *g) {
    const bool any_sun = tl_sequence_any_sun(g->sequence);
    for (size_t i = 0; i < g->sequence->count; i++) {
        group *own = &g->item[g->of[i]];
        own->count++;
        own->telling += any_sun ? tl_sequence_shows_sun(g->sequence, i) : info_of(g, i)->width > 0;
    }
}

/* Cameras in the list. */
static size_t listed(const grouping *g) {
    size_t telling = 0;
    for (size_t k = 0; k < g->count; k++)
        telling += g->item[k].telling > 0;
    const size_t all = telling > 0 ? telling : g->count;
    return all < TL_CAMERAS_MAX ? all : TL_CAMERAS_MAX;
}

static void list_cameras(grouping *g, tl_sequence *sequence) {
    count_pictures(g);
    sequence->camera_count = listed(g);
    for (size_t i = 0; i < sequence->count; i++) {
        const size_t at = place(g, g->of[i]);
        sequence->frame[i].camera = at < sequence->camera_count ? at : TL_CAMERAS_MAX;
    }
    for (size_t k = 0; k < g->count; k++) {
        const size_t at = place(g, k);
        if (at >= sequence->camera_count)
            continue;
        write_name(g, &g->item[k], sequence->camera[at].name);
        sequence->camera[at].count = g->item[k].count;
    }
}

tl_status tl_analyse_cameras(tl_sequence *sequence) {
    grouping g = {.sequence = sequence};
    g.of = calloc(sequence->count + 1, sizeof *g.of);
    g.item = calloc(2 * sequence->count + 1, sizeof *g.item);
    const bool held = g.of != NULL && g.item != NULL;
    if (held) {
        group_named(&g);
        group_unnamed(&g);
        if (!sequence->options.zone_given)
            split_by_zone(&g);
        list_cameras(&g, sequence);
    }
    free(g.of);
    free(g.item);
    return held ? TL_OK : TL_ERR_MEMORY;
}
