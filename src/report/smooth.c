/*
 * smooth.c - the Moon moving evenly along its path, drawn; the photographs appear at their times.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/film_internal.h"

/* 1/100 s. Our own choice: some 40 s in all with a photograph every ten minutes. */
enum { HOLD_STEP = 10, HOLD_FADE = 10, HOLD_PHOTOGRAPH = 90, HOLD_FIRST = 100, HOLD_LAST = 200 };

/* A photograph comes and goes over the drawing in so many parts; more would be too many bytes. */
enum { FADE = 2 };

enum { STEPS = 144, PHOTOGRAPHS = 16 };

/* The colours are chosen from a short film of that size. */
enum { SAMPLE_SIDE = 240, SAMPLE_STEPS = 5, SAMPLE_PHOTOGRAPHS = 6 };

typedef struct moment {
    double t_s;
    const tl_report_plate *plate; /* or NULL */
    int share;                    /* of the photograph, of FADE */
} moment;

typedef struct smooth {
    const tl_report_source *source;
    tl_report_plates shown; /* item owned */
    moment *moment;         /* owned */
    size_t count;
    double *photograph_s; /* owned; when there are photographs */
    size_t photograph_count;
    tl_report_strip strip;
    tl_report_sun sun;
    unsigned char *photograph;           /* owned; pixels of the one shown last, */
    const tl_report_plate *photographed; /* which is this, or NULL */
} smooth;

static void free_smooth(smooth *s) {
    tl_report_plates_free(&s->shown);
    tl_report_sun_free(&s->sun);
    free(s->moment);
    free(s->photograph_s);
    free(s->photograph);
}

/* A flat path tells how a picture lies to it: its Moon stands on the path. */
static void turn_to_path(const tl_report_source *source, tl_report_plate *plate) {
    const tl_limb *limb = &source->sequence->frame[plate->frame].limb;
    tl_report_moon moon;
    if (source->path.on_sky || limb->status != TL_LIMB_MEASURED ||
        !tl_report_moon_at(source->sequence, &source->path, plate->t_s, &moon))
        return;
    plate->turned = TL_REPORT_HAND_OPEN;
    plate->mirrored = false;
    plate->up_pa_rad = tl_angle_positive(atan2(moon.east_sr, moon.north_sr) -
                                         atan2(-limb->offset_x_sr, -limb->offset_y_sr));
}

/* Those whose time lies on the path, turned to it. */
static void keep_on_path(smooth *s) {
    tl_report_plates *shown = &s->shown;
    size_t kept = 0;
    for (size_t k = 0; k < shown->count; k++) {
        tl_report_plate plate = shown->item[k];
        if (!plate.timed || shown->utc != s->source->path.on_sky || plate.t_s < s->strip.from_s ||
            plate.t_s > s->strip.to_s)
            continue;
        turn_to_path(s->source, &plate);
        shown->item[kept++] = plate;
    }
    shown->count = kept;
}

static void add_photograph(smooth *s, const tl_report_plate *plate) {
    for (int n = 1; n < 2 * FADE; n++)
        s->moment[s->count++] = (moment){plate->t_s, plate, n < FADE ? n : 2 * FADE - n};
    s->photograph_s[s->photograph_count++] = plate->t_s;
}

static bool make_moments(smooth *s, size_t steps, size_t photographs) {
    const double from_s = s->strip.from_s, to_s = s->strip.to_s;
    size_t *chosen = calloc(s->shown.count + 1, sizeof *chosen);
    s->moment = calloc(steps + 2 * FADE * photographs, sizeof *s->moment);
    s->photograph_s = calloc(photographs + 1, sizeof *s->photograph_s);
    if (chosen && s->moment && s->photograph_s) {
        const size_t most =
            photographs == 0
                ? 0
                : tl_report_plates_spread(&s->shown, TL_REPORT_NORTH_UP, photographs, chosen);
        for (size_t n = 0, next = 0; n < steps; n++) {
            const double t_s = from_s + (to_s - from_s) * (double)n / (double)(steps - 1);
            for (; next < most && s->shown.item[chosen[next]].t_s < t_s; next++)
                add_photograph(s, &s->shown.item[chosen[next]]);
            s->moment[s->count++] = (moment){.t_s = t_s};
        }
    }
    const bool good = chosen && s->moment && s->photograph_s;
    free(chosen);
    return good;
}

static tl_status make_smooth(const tl_report_source *source, const tl_report_sun_look *look,
                             int side, size_t steps, size_t photographs, smooth *made) {
    const tl_report_path *path = &source->path;
    smooth s = {.source = source};
    tl_status status = tl_report_film_plates(&source->plates, &s.shown);
    if (status == TL_OK)
        status = tl_report_sun_make(look, side, &s.sun);
    if (status == TL_OK) {
        s.strip = tl_report_strip_make(source, side, &s.shown);
        s.strip.utc = path->on_sky;
        s.strip.contacts = s.strip.has_bar = true;
        s.strip.from_s = path->line[0].t_s;
        s.strip.to_s = path->line[path->line_count - 1].t_s;
        s.strip.up = path->on_sky ? "north up" : NULL;
        keep_on_path(&s);
        s.photograph = malloc(3 * (size_t)side * (size_t)side);
        status = s.photograph && make_moments(&s, steps, photographs) ? TL_OK : TL_ERR_MEMORY;
        s.strip.tick_s = s.photograph_s;
        s.strip.tick_count = s.photograph_count;
    }
    if (status == TL_OK)
        *made = s;
    else
        free_smooth(&s);
    return status;
}

static tl_report_strip_words words_of(const smooth *s, const moment *m,
                                      const tl_report_moon *moon) {
    tl_report_strip_words words = {.timed = true, .t_s = m->t_s, .has_covered = moon->ratio > 0.0};
    if (m->share == FADE && m->plate != NULL) {
        words = tl_report_strip_words_of(s->source, m->plate);
        words.kind = s->strip.utc && m->plate->turned == TL_REPORT_HAND_OPEN
                         ? "photograph, perhaps mirrored"
                         : "photograph";
    } else {
        words.obscuration = tl_obscuration(hypot(moon->east_sr, moon->north_sr), moon->ratio);
        words.kind = s->strip.utc ? "drawn from the almanac" : "drawn from the fit";
    }
    return words;
}

/* The photograph over the drawing. */
static tl_status fade_in(smooth *s, const moment *m, unsigned char *rgb) {
    const size_t bytes = 3 * (size_t)s->strip.side_px * (size_t)s->strip.side_px;
    if (s->photographed != m->plate) {
        const tl_status status = tl_report_film_plate(s->source, m->plate, TL_REPORT_NORTH_UP,
                                                      s->strip.side_px, s->photograph);
        if (status != TL_OK)
            return status;
        s->photographed = m->plate;
    }
    for (size_t i = 0; i < bytes; i++)
        rgb[i] =
            (unsigned char)((m->share * s->photograph[i] + (FADE - m->share) * rgb[i] + FADE / 2) /
                            FADE);
    return TL_OK;
}

static tl_status frame(void *context, size_t k, unsigned char *rgb) {
    smooth *s = context;
    const moment *m = &s->moment[k];
    const int side = s->strip.side_px;
    tl_report_moon moon = {0};
    tl_status status = TL_OK;
    if (tl_report_moon_at(s->source->sequence, &s->source->path, m->t_s, &moon))
        tl_report_sun_draw(&s->sun, &s->source->path, &moon, rgb);
    else
        memset(rgb, 0, 3 * (size_t)side * (size_t)side);
    if (m->plate)
        status = fade_in(s, m, rgb);
    const tl_report_strip_words words = words_of(s, m, &moon);
    if (status == TL_OK)
        status = tl_report_strip_pixels(&s->strip, &words, rgb + 3 * (size_t)side * (size_t)side);
    return status;
}

static int hold_cs(void *context, size_t k) {
    const smooth *s = context;
    const moment *m = &s->moment[k];
    return k == 0              ? HOLD_FIRST
           : k + 1 == s->count ? HOLD_LAST
           : !m->plate         ? HOLD_STEP
           : m->share == FADE  ? HOLD_PHOTOGRAPH
                               : HOLD_FADE;
}

static tl_report_film film_of(smooth *s) {
    const int side = s->strip.side_px;
    return (tl_report_film){side, side + tl_report_strip_height(side), s->count, frame, hold_cs, s};
}

static tl_status find_look(const tl_report_source *source, tl_report_sun_look *look) {
    tl_report_plates shown;
    tl_status status = tl_report_film_plates(&source->plates, &shown);
    if (status != TL_OK)
        return status;
    status = tl_report_sun_find_look(source, &shown, look);
    tl_report_plates_free(&shown);
    return status;
}

static tl_status choose_colours(const tl_report_source *source, const tl_report_sun_look *look,
                                tl_report_palette *palette) {
    smooth s;
    tl_status status = make_smooth(source, look, SAMPLE_SIDE, SAMPLE_STEPS, SAMPLE_PHOTOGRAPHS, &s);
    if (status != TL_OK)
        return status;
    const tl_report_film film = film_of(&s);
    status = tl_report_palette_make(&film, palette);
    free_smooth(&s);
    return status;
}

static tl_status make_film(const tl_report_source *source, const tl_report_sun_look *look, int side,
                           size_t photographs, const tl_report_palette *palette,
                           tl_report_text *gif) {
    smooth s;
    tl_status status = make_smooth(source, look, side, STEPS, photographs, &s);
    if (status != TL_OK)
        return status;
    const tl_report_film film = film_of(&s);
    status = tl_report_gif(&film, palette, TL_REPORT_FILM_BYTES, gif);
    free_smooth(&s);
    return status;
}

bool tl_report_has_smooth(const tl_report_path *path, const tl_report_plates *plates) {
    return path->line_count >= 2 && path->line[path->line_count - 1].t_s > path->line[0].t_s &&
           path->ratio > 0.0 && plates->count > 0;
}

tl_status tl_report_smooth(const tl_report_source *source, tl_report_text *gif) {
    static const struct {
        int side;
        size_t photographs;
    } size[] = {{640, PHOTOGRAPHS},     {540, PHOTOGRAPHS},     {450, PHOTOGRAPHS},
                {450, PHOTOGRAPHS / 2}, {360, PHOTOGRAPHS / 2}, {360, 0}}; /* drawings alone fit */
    tl_report_palette palette;
    tl_report_sun_look look;
    if (!tl_report_has_smooth(&source->path, &source->plates))
        return TL_OK;
    tl_status status = find_look(source, &look);
    if (status == TL_OK)
        status = choose_colours(source, &look, &palette);
    if (status != TL_OK)
        return status;
    status = TL_ERR_TOO_LARGE;
    for (size_t i = 0; i < sizeof size / sizeof *size && status == TL_ERR_TOO_LARGE; i++)
        status = make_film(source, &look, size[i].side, size[i].photographs, &palette, gif);
    return status;
}
