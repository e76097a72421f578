/*
 * analyse.c - the whole flow, from files to a measured and timed series.
 */
#include <stdlib.h>

#include "analyse_steps.h"
#include "twolimb/analyse.h"

/* Circles and times depend on each other, weakly: the almanac's ratio and the flattening by
 * refraction at the true time sharpen the circles, sharper circles the times. The second round
 * already changes less than the errors. */
enum { ROUNDS = 2 };

/* What the threads share. */
typedef struct work {
    const tl_analyse_options *options;
    tl_sequence *sequence;
    pthread_mutex_t lock; /* over `done` and the calls of progress */
    size_t done;
    tl_analyse_ratios ratios;
} work;

static void count_done(work *w, const char *path) {
    pthread_mutex_lock(&w->lock);
    w->done++;
    if (w->options->progress != NULL)
        w->options->progress(w->options->progress_context, w->done, w->sequence->count, path);
    pthread_mutex_unlock(&w->lock);
}

/* One picture: pixels to circles. Its pixels are gone again afterwards. */
static void measure(void *context, size_t i) {
    work *w = context;
    tl_sequence_frame *frame = &w->sequence->frame[i];
    tl_image image = {0}, fine = {0};
    if (frame->is_copy) {
        count_done(w, frame->path);
        return;
    }
    tl_status status = tl_frame_read(frame->path, &image, &frame->info);
    tl_analyse_camera_time(w->options->times, frame);
    tl_limb_prior prior;
    if (status == TL_OK)
        status = tl_analyse_first_prior(&w->options->track, frame, &w->ratios, &prior);
    if (status == TL_OK)
        status = tl_analyse_circles(frame->path, &image, &prior, &frame->limb, &fine);
    if (status == TL_OK)
        status = tl_analyse_finer(frame->path, &image, &frame->limb, &fine);
    const tl_image *finest = fine.width > 0 ? &fine : &image;
    if (status == TL_OK)
        status = tl_spot_find(finest, &frame->limb, &frame->marks);
    if (status == TL_OK)
        tl_analyse_preview(&image, finest, w->sequence->count, frame);
    else
        tl_limb_set_unreadable(&frame->limb, tl_status_text(status));
    tl_analyse_cut_short(frame);
    tl_image_free(&image);
    tl_image_free(&fine);
    count_done(w, frame->path);
}

tl_status tl_analyse(const tl_file_list *files, const tl_analyse_options *options,
                     tl_sequence *sequence) {
    tl_sequence s = {.options = options->track};
    tl_status status = tl_analyse_frames(files, &s);
    if (status == TL_OK)
        status = tl_analyse_given(options, &s);
    if (status == TL_OK && !options->keep_copies)
        status = tl_analyse_same_bytes(options->times, options->jobs, &s);
    if (status != TL_OK) {
        tl_sequence_free(&s);
        return status;
    }

    work w = {.options = options,
              .sequence = &s,
              .lock = PTHREAD_MUTEX_INITIALIZER,
              .ratios.lock = PTHREAD_MUTEX_INITIALIZER};
    tl_parallel(s.count, options->jobs, measure, &w);
    free(w.ratios.ratio);

    if (!options->keep_copies)
        status = tl_analyse_same_picture(&s);
    if (status == TL_OK)
        status = tl_analyse_cameras(&s);
    if (status == TL_OK && s.options.site.source == TL_SITE_NONE && !s.options.find_site)
        status = tl_analyse_site(&s, &s.options.site);
    if (status == TL_OK)
        status = tl_analyse_solve(&s);
    for (int round = 0; round < ROUNDS && status == TL_OK; round++) {
        status = tl_analyse_refit(&s);
        if (status == TL_OK)
            status = tl_analyse_solve(&s);
    }
    if (status == TL_OK)
        status = tl_analyse_follow(&s, options->spots);
    if (status == TL_OK)
        status = tl_analyse_solve(&s); /* anew: the spots tell how the frames were turned */
    if (status == TL_OK)
        status = tl_analyse_coverings(&s);
    if (status == TL_OK)
        status = tl_analyse_closeups(&s, options->jobs);

    if (status == TL_OK)
        *sequence = s;
    else
        tl_sequence_free(&s);
    return status;
}
