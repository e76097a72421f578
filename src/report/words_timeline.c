/*
 * words_timeline.c - plain sentences on the series in time, and on how the edge blur went.
 */
#include <math.h>

#include "report/timeline_internal.h"

static void add_time(const tl_report_timeline *timeline, double t_s, tl_report_text *text) {
    enum { TIME_OF_DAY = 11 }; /* where it starts in "2026-08-12T17:03:12" */
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(60.0 * round(t_s / 60.0), 0, "", iso);
    tl_report_text_addf(text, "%.5s", iso + TIME_OF_DAY);
    if (timeline->utc)
        tl_report_text_add(text, " UTC");
}

/* " (17:03 UTC)" behind what was measured then. */
static void add_when(const tl_report_timeline *timeline, double t_s, tl_report_text *text) {
    tl_report_text_add(text, " (");
    add_time(timeline, t_s, text);
    tl_report_text_add(text, ")");
}

/* ---- distance ---- */

static bool is_sound(const tl_report_time_point *point, tl_report_panel panel) {
    return !point->doubtful && isfinite(tl_report_time_value(point, panel));
}

/* First, last and smallest of the sound ones; returns how many these are. */
static size_t ends_of(const tl_report_timeline *timeline, tl_report_panel panel,
                      const tl_report_time_point **first, const tl_report_time_point **last,
                      const tl_report_time_point **least, const tl_report_time_point **most) {
    size_t count = 0;
    for (size_t i = 0; i < timeline->point_count; i++) {
        const tl_report_time_point *point = &timeline->point[i];
        const double value = fabs(tl_report_time_value(point, panel));
        if (!is_sound(point, panel))
            continue;
        if (count == 0)
            *first = *least = *most = point;
        if (value < fabs(tl_report_time_value(*least, panel)))
            *least = point;
        if (value > fabs(tl_report_time_value(*most, panel)))
            *most = point;
        *last = point;
        count++;
    }
    return count;
}

static void add_distance(const tl_report_timeline *timeline, tl_report_text *text) {
    const int decimals = 2;
    const tl_report_time_point *first, *last, *least, *most;
    const size_t count =
        ends_of(timeline, TL_REPORT_PANEL_SEPARATION, &first, &last, &least, &most);
    if (count == 0)
        return;
    tl_report_text_add(text, "The centres of Sun and Moon were ");
    tl_report_add_fixed(text, first->separation_sr, decimals);
    tl_report_text_addf(text, " solar radii apart in the %spicture", count > 1 ? "first " : "");
    add_when(timeline, first->t_s, text);
    if (least != first && least != last) {
        tl_report_text_add(text, ", ");
        tl_report_add_fixed(text, least->separation_sr, decimals);
        tl_report_text_add(text, " in the one nearest to maximum");
        add_when(timeline, least->t_s, text);
    }
    if (count > 1) {
        tl_report_text_add(text, " and ");
        tl_report_add_fixed(text, last->separation_sr, decimals);
        tl_report_text_add(text, " in the last");
        add_when(timeline, last->t_s, text);
    }
    tl_report_text_add(text, ". ");
}

/* ---- residuals ---- */

static double rms_residual(const tl_report_timeline *timeline) {
    double squares = 0.0;
    size_t count = 0;
    for (size_t i = 0; i < timeline->point_count; i++) {
        const double value = timeline->point[i].residual;
        if (!is_sound(&timeline->point[i], TL_REPORT_PANEL_RESIDUAL))
            continue;
        squares += value * value;
        count++;
    }
    return sqrt(squares / (double)count);
}

static void add_residuals(const tl_report_timeline *timeline, tl_report_text *text) {
    const char *unit = timeline->utc ? "\u2033" : " solar radii";
    const tl_report_time_point *first, *last, *least, *most;
    const size_t count = ends_of(timeline, TL_REPORT_PANEL_RESIDUAL, &first, &last, &least, &most);
    if (count < 2)
        return;
    const double rms = rms_residual(timeline);
    tl_report_text_addf(text, "Against %s the %zu distances %s scatter by ",
                        timeline->utc ? "the almanac" : "the path fitted to them", count,
                        timeline->utc ? "used" : "in the fit");
    tl_report_add_significant(text, rms, 2);
    tl_report_text_addf(text, "%s (rms)", unit);
    if (timeline->utc) {
        tl_report_text_add(text, ", seconds of arc, of which the Sun\u2019s radius has ");
        tl_report_add_fixed(text, timeline->floor / TL_TRACK_FLOOR_SR, 0);
    }
    tl_report_text_add(text, "; the one farthest off, by ");
    tl_report_add_significant(text, fabs(most->residual), 2);
    tl_report_text_addf(text, "%s, is that of ", unit);
    add_time(timeline, most->t_s, text);
    tl_report_text_add(text, ". ");
}

/* ---- what is not there ---- */

static void add_missing(const tl_report_timeline *timeline, tl_report_text *text) {
    size_t doubtful = 0;
    for (size_t i = 0; i < timeline->point_count; i++)
        doubtful += timeline->point[i].doubtful;
    if (doubtful > 0)
        tl_report_text_addf(text, "%zu picture%s left out of the fit %s hollow. ", doubtful,
                            doubtful == 1 ? "" : "s", doubtful == 1 ? "is" : "are");
    if (timeline->unplaced_count > 0)
        tl_report_text_addf(
            text,
            "%zu picture%s with a measured disc %s not drawn: %s time %sis not known "
            "or lies far outside the eclipse. ",
            timeline->unplaced_count, timeline->unplaced_count == 1 ? "" : "s",
            timeline->unplaced_count == 1 ? "is" : "are",
            timeline->unplaced_count == 1 ? "its" : "their", timeline->utc ? "" : "by this clock ");
}

static void end_words(tl_report_text *text) {
    if (text->length > 0 && text->data[text->length - 1] == ' ')
        text->data[--text->length] = '\0';
}

void tl_report_words_timeline(const tl_report_timeline *timeline, tl_report_text *text) {
    if (timeline->point_count == 0)
        tl_report_text_add(text, "No picture has a true time, so only the almanac\u2019s lines are "
                                 "drawn. ");
    add_distance(timeline, text);
    add_residuals(timeline, text);
    add_missing(timeline, text);
    end_words(text);
}

void tl_report_words_timeline_drawing(const tl_report_timeline *timeline, unsigned panels,
                                      tl_report_text *text) {
    static const char *const shows[TL_REPORT_PANELS] = {
        "the distance of the centres of Sun and Moon", "magnitude and obscuration",
        "measured less computed distance", "the width of the Sun\u2019s edge"};
    const char *joint = "";
    tl_report_text_add(text, "Drawing over one axis of time, ");
    add_time(timeline, timeline->from_s, text);
    tl_report_text_add(text, " to ");
    add_time(timeline, timeline->to_s, text);
    tl_report_text_addf(text, "%s, of ", timeline->utc ? "" : " by the camera\u2019s clock");
    for (int p = 0; p < TL_REPORT_PANELS; p++) {
        if (!(timeline->panels & panels & TL_REPORT_PANEL_BIT(p)))
            continue;
        tl_report_text_addf(text, "%s%s", joint, shows[p]);
        joint = "; ";
    }
    tl_report_text_addf(text, ", with %zu picture%s.", timeline->point_count,
                        timeline->point_count == 1 ? "" : "s");
}

/* ---- blur ---- */

static void add_blur(const tl_report_timeline *timeline, const tl_report_time_point *point,
                     tl_report_text *text) {
    tl_report_add_fixed(text, point->blur, timeline->utc ? 1 : 2);
    tl_report_text_add(text, timeline->utc ? "\u2033" : " % of the solar radius");
}

void tl_report_words_blur(const tl_report_timeline *timeline, tl_report_text *text) {
    const tl_report_blur_trend *trend = &timeline->trend;
    if (trend->count == 0)
        return;
    const tl_report_time_point *first = &timeline->point[trend->first];
    const tl_report_time_point *last = &timeline->point[trend->last];
    tl_report_text_add(text, "No picture shows the Sun\u2019s edge perfectly sharp. In the ");
    tl_report_text_add(text, trend->count > 1 ? "first one" : "only one that counts");
    add_when(timeline, first->t_s, text);
    tl_report_text_add(text, " it is ");
    add_blur(timeline, first, text);
    tl_report_text_add(text, " wide");
    if (trend->count > 1) {
        tl_report_text_add(text, ", in the last");
        add_when(timeline, last->t_s, text);
        tl_report_text_add(text, " ");
        add_blur(timeline, last, text);
    }
    tl_report_text_add(text, ".");
}

/* "22 +- 9 % an hour": of the logarithm both are larger by the growth. */
static void add_growth(const tl_report_blur_trend *trend, bool with_sign, tl_report_text *text) {
    const double factor = exp(trend->growth_per_h), growth = 100.0 * (factor - 1.0);
    if (with_sign && growth > 0.0)
        tl_report_text_add(text, "+");
    tl_report_add_measure(text, with_sign ? growth : fabs(growth),
                          100.0 * factor * trend->growth_sigma_per_h, 0, "%");
    tl_report_text_add(text, " an hour");
}

void tl_report_words_blur_trend(const tl_report_timeline *timeline, tl_report_text *text) {
    const tl_report_blur_trend *trend = &timeline->trend;
    if (!trend->fitted) {
        tl_report_text_add(text, "Whether it gets wider or narrower is not told: that takes at "
                                 "least four pictures of one camera over a quarter of an hour.");
    } else if (trend->significant) {
        tl_report_text_addf(text, "Over the series it gets %s by ",
                            trend->growth_per_h > 0.0 ? "wider" : "narrower");
        add_growth(trend, false, text);
        tl_report_text_add(text, ": more than three times the error that the scatter of the single "
                                 "pictures leaves.");
    } else {
        tl_report_text_add(text, "A line through all of them changes by ");
        add_growth(trend, true, text);
        tl_report_text_add(text, ": less than three times its error, so no trend is claimed.");
    }
}
