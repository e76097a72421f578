/*
 * The talk: how many slides, in what order, that their words stay in their places, and that the
 * page needs nothing else.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <unistd.h>

#include "report/talk_internal.h"
#include "test_report_pages.h"
#include "test_report_series.h"
#include "test_report_spot_series.h"
#include "test_report_well_formed.h"

/* ---- every kind of series ---------------------------------------------------------------------
 */

/* A small picture that is one: a grey square. */
static void give_pictures(tl_sequence *s) {
    enum { SIDE = 480 };
    unsigned char *rgb = malloc(3 * SIDE * SIDE);
    assert_non_null(rgb);
    memset(rgb, 120, 3 * SIDE * SIDE);
    for (size_t i = 0; i < s->count; i++) {
        tl_preview *preview = &s->frame[i].preview;
        if (preview->size == 0)
            continue;
        free(preview->jpeg);
        assert_int_equal(tl_drawing_jpeg(rgb, SIDE, SIDE, &preview->jpeg, &preview->size), TL_OK);
    }
    free(rgb);
}

static tl_sequence series_one(void) {
    tl_sequence s = series_no_site(), one = s;
    one.count = 1;
    one.track.used_count = 1;
    one.track.free_solved = one.track.has_smallest = false;
    one.track.ratio = one.track.ratio_measured = 0.0;
    for (int which = 0; which < TL_CONTACTS; which++)
        one.track.contact[which].measured = false;
    one.frame = calloc(1, sizeof *one.frame);
    assert_non_null(one.frame);
    one.frame[0] = s.frame[0];
    one.frame[0].info.time = (tl_camera_time){0};
    one.track.frame = NULL;
    one.track.frame_count = 0;
    s.frame[0] = (tl_sequence_frame){0};
    tl_sequence_free(&s);
    return one;
}

/* Total, with second and third contact, and the picture of totality refused. */
static tl_sequence series_total(void) {
    tl_sequence s = series_solved();
    s.track.circumstances.kind = TL_ECLIPSE_TOTAL;
    s.track.smallest_sr = 0.01;
    series_contact(&s.track, TL_C2, 32890.0, 0.4, 2.0);
    series_contact(&s.track, TL_C3, 33010.0, -0.2, 2.0);
    return s;
}

static tl_sequence series_mirror_open(void) {
    tl_sequence s = series_solved();
    s.track.camera[0].mirrored = TL_MIRROR_AUTO;
    return s;
}

/* Names as long as they can be, in whatever a file system or a list lets through. */
static tl_sequence series_long_names(void) {
    tl_sequence s = series_spots();
    static const char longest[] =
        "pictures/averyveryverylongnamewithoutasinglebreak-averyveryverylong"
        "namewithoutasinglebreak<b>\"&'\x01\xff.jpg";
    for (size_t i = 0; i < s.count; i++) {
        free(s.frame[i].path);
        s.frame[i].path = series_copy(longest);
    }
    s.camera_count = 1;
    memset(s.camera[0].name, 'W', sizeof s.camera[0].name - 1);
    for (size_t k = 0; k < s.spots.count; k++)
        strcpy(s.spots.spot[k].name, "<W&W>\"W'W%sWWWW");
    return s;
}

/* Close-ups on either side of both moments of spot A, of which the pictures are broken. */
static tl_sequence series_closeups(void) {
    tl_sequence s = series_long_names();
    static const size_t frame[] = {0, 1, 6, 7};
    s.closeup = calloc(4, sizeof *s.closeup);
    assert_non_null(s.closeup);
    for (size_t k = 0; k < 4; k++) {
        s.closeup[k] = (tl_closeup){.spot = SPOT_A,
                                    .frame = frame[k],
                                    .uncovering = k >= 2,
                                    .jpeg = calloc(1, 4),
                                    .size = 4,
                                    .side = 160,
                                    .side_sr = 0.3};
        s.track.frame[frame[k]].true_utc_s =
            SERIES_DAY_S + (k < 2 ? SPOT_COVERED_S : SPOT_UNCOVERED_S) + (k % 2 ? 90.0 : -1500.0);
    }
    s.closeup_count = 4;
    return s;
}

static tl_sequence (*const every_series[])(void) = {
    series_solved, series_odd,         series_no_site,    series_spots,   series_one,
    series_total,  series_mirror_open, series_long_names, series_closeups};
enum { SERIES = sizeof every_series / sizeof *every_series };

/* ---- slides -----------------------------------------------------------------------------------
 */

static void talk_has_8_to_12_slides_from_title_to_safety(void **state) {
    (void)state;
    for (size_t k = 0; k < SERIES; k++) {
        tl_sequence s = every_series[k]();
        tl_report_source source;
        const tl_report_slide *slide[TL_REPORT_SLIDES_MOST];
        assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
        const size_t count = tl_report_talk_slides(&source, slide);
        assert_in_range(count, 8, 12);
        assert_int_equal(count, tl_report_count_slides(&source));
        assert_string_equal(slide[0]->name, "title");
        assert_string_equal(slide[count - 1]->name, "how-sure");
        tl_report_source_free(&source);
        tl_sequence_free(&s);
    }
}

static void nothing_measured_is_no_talk(void **state) {
    (void)state;
    tl_sequence s = series_nothing();
    tl_report_source source;
    tl_report_text html = {0}, png = {0}, name = {0};
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    assert_int_equal(tl_report_count_slides(&source), 0);
    assert_int_equal(tl_report_talk(&source, &html), TL_OK);
    assert_int_equal(html.length, 0);
    assert_int_equal(tl_report_slide_png(&source, 0, &png), TL_OK);
    assert_int_equal(png.length, 0);
    tl_report_slide_name(&source, 0, &name);
    assert_int_equal(name.length, 0);
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

static bool has_slide(const tl_report_source *source, const char *name) {
    const tl_report_slide *slide[TL_REPORT_SLIDES_MOST];
    const size_t count = tl_report_talk_slides(source, slide);
    bool found = false;
    for (size_t k = 0; k < count; k++)
        found = found || strcmp(slide[k]->name, name) == 0;
    return found;
}

static void slides_are_those_of_which_something_is_known(void **state) {
    (void)state;
    tl_sequence s = series_closeups();
    tl_report_source source;
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    assert_true(has_slide(&source, "clock") && has_slide(&source, "sunspot"));
    assert_true(has_slide(&source, "series-zenith") && has_slide(&source, "light"));
    tl_report_source_free(&source);
    tl_sequence_free(&s);
    s = series_no_site();
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    assert_false(has_slide(&source, "clock") || has_slide(&source, "series-zenith"));
    assert_false(has_slide(&source, "turned") || has_slide(&source, "sunspot"));
    assert_true(has_slide(&source, "path") && has_slide(&source, "series"));
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

/* The PNG specification (W3C 2003), 5.2 and 11.2.2: signature, then width and height, big end
 * first. */
static uint32_t big_endian(const char *bytes) {
    const unsigned char *b = (const unsigned char *)bytes;
    return (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3];
}

static void slides_are_pictures_of_a_projector(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    tl_report_source source;
    give_pictures(&s);
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    for (size_t k = 0; k < tl_report_count_slides(&source); k++) {
        tl_report_text png = {0}, name = {0};
        char number[24];
        assert_int_equal(tl_report_slide_png(&source, k, &png), TL_OK);
        assert_true(png.length > 1000);
        assert_memory_equal(png.data, "\x89PNG\r\n\x1a\n", 8);
        assert_memory_equal(png.data + 12, "IHDR", 4);
        assert_int_equal(big_endian(png.data + 16), 1920);
        assert_int_equal(big_endian(png.data + 20), 1080);
        assert_memory_equal(png.data + png.length - 8, "IEND", 4);
        tl_report_slide_name(&source, k, &name);
        snprintf(number, sizeof number, "%02zu-", k + 1);
        assert_memory_equal(name.data, number, 3);
        assert_true(tl_report_is_slide_name(name.data));
        tl_report_text_free(&png);
        tl_report_text_free(&name);
    }
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

static void only_names_of_slides_are_taken_for_one(void **state) {
    (void)state;
    static const char *const strange[] = {"1-title.png",    "001-title.png", "01-title.jpg",
                                          "01-title.png.x", "01-titles.png", "01-notes.png",
                                          "xx-title.png",   "01title.png",   "",
                                          "01-title.png~",  "01-../x.png",   "talk.html"};
    assert_true(tl_report_is_slide_name("01-title.png"));
    assert_true(tl_report_is_slide_name("12-how-sure.png"));
    for (size_t k = 0; k < sizeof strange / sizeof *strange; k++)
        assert_false(tl_report_is_slide_name(strange[k]));
}

/* ---- words in their places --------------------------------------------------------------------
 */

enum { WORDS_MOST = 120 };
typedef struct listener {
    tl_report_rect box[WORDS_MOST];
    size_t count;
    tl_report_text all;
} listener;

static void listen(void *context, const char *words, const tl_report_rect *box, bool fits) {
    listener *l = context;
    assert_true(l->count < WORDS_MOST);
    if (!fits)
        fail_msg("cut: %s", words);
    tl_report_text_add(&l->all, words);
    tl_report_text_add(&l->all, "\n");
    l->box[l->count++] = *box;
}

static bool overlap(const tl_report_rect *a, const tl_report_rect *b) {
    return a->left < b->left + b->width && b->left < a->left + a->width &&
           a->top < b->top + b->height && b->top < a->top + a->height;
}

static void hear_slide(const tl_report_source *source, const tl_report_slide *slide, size_t k,
                       size_t count, listener *l) {
    const tl_report_ear ear = {listen, l};
    const tl_report_slide_drawing drawing_of = {source, slide, k, count, &ear};
    const tl_report_drawing drawing = tl_report_drawing_of_slide(&drawing_of);
    unsigned char *rgb = NULL;
    assert_int_equal(tl_report_draw_pixels(&drawing, 0.1, &rgb), TL_OK);
    free(rgb);
}

static void words_stay_on_the_slide_and_off_each_other(void **state) {
    (void)state;
    for (size_t n = 0; n < SERIES; n++) {
        tl_sequence s = every_series[n]();
        tl_report_source source;
        const tl_report_slide *slide[TL_REPORT_SLIDES_MOST];
        assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
        const size_t count = tl_report_talk_slides(&source, slide);
        for (size_t k = 0; k < count; k++) {
            static listener l;
            l = (listener){.count = 0};
            hear_slide(&source, slide[k], k, count, &l);
            assert_true(l.count > 0);
            for (size_t a = 0; a < l.count; a++) {
                const tl_report_rect *box = &l.box[a];
                const bool inside = box->left >= 40.0 && box->left + box->width <= 1880.0 &&
                                    box->top >= 30.0 && box->top + box->height <= 1060.0;
                if (!inside)
                    fail_msg("series %zu, slide %s, words %zu: %s", n, slide[k]->name, a,
                             l.all.data);
                assert_true(box->height >= 24.0 - 1e-6); /* the back row has to read it */
                for (size_t b = 0; b < a; b++)
                    if (overlap(box, &l.box[b]))
                        fail_msg("series %zu, slide %s, words %zu and %zu: %s", n, slide[k]->name,
                                 b, a, l.all.data);
            }
            tl_report_text_free(&l.all);
        }
        tl_report_source_free(&source);
        tl_sequence_free(&s);
    }
}

typedef struct set {
    size_t count;
    tl_report_rect box;
    bool fits;
} set;

static void listen_once(void *context, const char *words, const tl_report_rect *box, bool fits) {
    (void)words;
    *(set *)context = (set){1, *box, fits};
}

static set set_in(const char *words, double width, double height) {
    const tl_report_type type = {60.0, 24.0, 0.0, 0.0, TL_REPORT_INK_TEXT};
    set heard = {0};
    const tl_report_ear ear = {listen_once, &heard};
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 64, 64);
    tl_report_slide_pen pen = {.cr = cairo_create(surface), .ear = &ear};
    tl_report_set_string(&pen, &type, words, (tl_report_rect){100.0, 50.0, width, height});
    assert_int_equal(cairo_status(pen.cr), CAIRO_STATUS_SUCCESS);
    assert_false(pen.failed);
    cairo_destroy(pen.cr);
    cairo_surface_destroy(surface);
    return heard;
}

static void words_wrap_shrink_and_are_cut_at_last(void **state) {
    (void)state;
    static const char long_text[] = "Many words that need more than a line, and many more of them, "
                                    "until no box of this size could ever hold them all.";
    static const char *const hard[] = {
        "Wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww",
        long_text,
        "caf\xE9 \xFF\xC3",
        "a\nb\tc\x01",
        " ",
        "\u00e4\u00f6\u00fc\u2026\u2212"};
    const set one = set_in("Few words", 800.0, 60.0);
    assert_true(one.fits);
    assert_close(one.box.height, 60.0, 1e-9); /* a line at full size */
    const set wrapped = set_in("Few words", 250.0, 300.0);
    assert_true(wrapped.fits);
    assert_close(wrapped.box.height, 60.0 * 2.3, 1e-9); /* two lines, 1.3 apart */
    const set shrunk = set_in(long_text, 800.0, 150.0);
    assert_true(shrunk.fits);
    assert_true(shrunk.box.height <= 150.0);
    assert_false(set_in(long_text, 300.0, 60.0).fits);
    assert_int_equal(set_in("", 300.0, 60.0).count, 0);
    for (size_t k = 0; k < sizeof hard / sizeof *hard; k++)
        for (double width = 40.0; width < 900.0; width *= 1.7) {
            const set s = set_in(hard[k], width, 90.0);
            assert_true(s.box.width <= width + 1e-6 && s.box.height <= 90.0 + 1e-6);
        }
}

static void cautions_are_on_a_slide_of_every_talk(void **state) {
    (void)state;
    for (size_t n = 0; n < SERIES; n++) {
        tl_sequence s = every_series[n]();
        tl_report_source source;
        listener l = {.count = 0};
        assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
        hear_slide(&source, &tl_report_slide_sure, 0, 8, &l);
        assert_non_null(strstr(l.all.data, "FRONT"));
        assert_non_null(strstr(l.all.data, "ISO 12312-2"));
        assert_non_null(strstr(l.all.data, "eyepiece"));
        assert_non_null(strstr(l.all.data, "Never leave a telescope that projects"));
        assert_non_null(strstr(l.all.data, "only inside totality"));
        assert_non_null(strstr(l.all.data, "local rules"));
        tl_report_text_free(&l.all);
        tl_report_source_free(&source);
        tl_sequence_free(&s);
    }
}

/* Shares of invented discs: of the series, magnitude (1 + 1.0758 - 0.6781) / 2 = 0.699; the covered
 * area is the lens of two circles, (Weisstein, "Circle-circle intersection", MathWorld, eq. 14),
 * worked out apart from the program: 0.636. */
static void shares_are_those_of_the_eclipse(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    tl_report_source source;
    listener l = {.count = 0};
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    hear_slide(&source, &tl_report_slide_share, 0, 8, &l);
    const double d = 0.6781, r = 1.0758;
    const double lens = r * r * acos((d * d + r * r - 1.0) / (2.0 * d * r)) +
                        acos((d * d + 1.0 - r * r) / (2.0 * d)) -
                        0.5 * sqrt((-d + r + 1.0) * (d + r - 1.0) * (d - r + 1.0) * (d + r + 1.0));
    char area[32];
    snprintf(area, sizeof area, "%.1f\u00a0%%\nof the area", 100.0 * lens / TL_PI);
    assert_non_null(strstr(l.all.data, "69.9\u00a0%\nof the diameter"));
    assert_non_null(strstr(l.all.data, area));
    tl_report_text_free(&l.all);
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

/* The outlier is that of 10:00:00 (08:10 and ten times 11 minutes). */
static void series_slides_say_what_is_open(void **state) {
    (void)state;
    static const tl_report_slide *const slide[] = {&tl_report_slide_north, &tl_report_slide_zenith};
    static const char open[] = "Whether the pictures are mirrored is not known";
    for (size_t k = 0; k < 2; k++)
        for (int mirror = 0; mirror < 2; mirror++) {
            tl_sequence s = mirror ? series_mirror_open() : series_solved();
            tl_report_source source;
            listener l = {.count = 0};
            tl_report_text note = {0};
            assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
            hear_slide(&source, slide[k], 1, 8, &l);
            slide[k]->note(&source, &note);
            assert_non_null(strstr(l.all.data, "\n10:00:00?\n"));
            assert_non_null(strstr(l.all.data, "\n08:10:00\n"));
            assert_non_null(strstr(l.all.data, "?: left out of the fits."));
            assert_non_null(strstr(note.data, "?: left out of the fits."));
            assert_int_equal(strstr(l.all.data, open) != NULL, mirror);
            assert_int_equal(strstr(note.data, open) != NULL, mirror);
            tl_report_text_free(&l.all);
            tl_report_text_free(&note);
            tl_report_source_free(&source);
            tl_sequence_free(&s);
        }
}

/* ---- the page ---------------------------------------------------------------------------------
 */

static void make_talk(tl_sequence *s, tl_report_text *html) {
    tl_report_source source;
    assert_int_equal(tl_report_source_make(s, &source), TL_OK);
    *html = (tl_report_text){0};
    assert_int_equal(tl_report_talk(&source, html), TL_OK);
    tl_report_source_free(&source);
}

/* Script and style, which are not mark-up, are taken out. */
static void blank_out(char *text, const char *open, const char *close) {
    char *from = strstr(text, open), *to = strstr(text, close);
    assert_true(from && to && from < to);
    memset(from + strlen(open), ' ', (size_t)(to - from) - strlen(open));
}

static void page_is_well_formed_and_alone_in_the_world(void **state) {
    (void)state;
    for (size_t n = 0; n < SERIES; n++) {
        tl_sequence s = every_series[n]();
        tl_report_text html;
        make_talk(&s, &html);
        blank_out(html.data, "<style>", "</style>");
        blank_out(html.data, "<script>", "</script>");
        assert_well_formed(html.data);
        assert_int_equal(count(html.data, "http:") + count(html.data, "https:"), 0);
        assert_int_equal(count(html.data, "<script"), 1);
        assert_int_equal(count(html.data, "<link"), 0);
        assert_int_equal(count(html.data, " href="), 0);
        assert_int_equal(count(html.data, " src=\""),
                         count(html.data, "data:image/svg+xml;base64,"));
        tl_report_text_free(&html);
        tl_sequence_free(&s);
    }
}

static void every_slide_has_its_note_and_its_words(void **state) {
    (void)state;
    for (size_t n = 0; n < SERIES; n++) {
        tl_sequence s = every_series[n]();
        tl_report_text html;
        make_talk(&s, &html);
        const size_t slides = count(html.data, "<section ");
        assert_in_range(slides, 8, 12);
        assert_int_equal(count(html.data, "<p class=\"note\">"), slides);
        assert_int_equal(count(html.data, "<p class=\"note\"></p>"), 0);
        assert_int_equal(count(html.data, " alt=\""), slides);
        assert_int_equal(count(html.data, " alt=\"\""), 0);
        assert_non_null(strstr(html.data, "ISO 12312-2"));
        tl_report_text_free(&html);
        tl_sequence_free(&s);
    }
}

/* Content Security Policy Level 3, 2.3.1: the hash is that of the script's bytes, in base64. The
 * sum is made by sha256sum of GNU coreutils. */
static void policy_lets_in_the_script_and_no_other(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    tl_report_text html, base64 = {0}, expected = {0};
    char path[] = "/tmp/twolimb-talk-XXXXXX", command[64];
    unsigned char sum[32];
    make_talk(&s, &html);
    const char *from = strstr(html.data, "<script>") + strlen("<script>");
    const char *to = strstr(from, "</script>");
    const int file = mkstemp(path);
    assert_true(file >= 0);
    assert_int_equal(write(file, from, (size_t)(to - from)), to - from);
    close(file);
    snprintf(command, sizeof command, "sha256sum <%s", path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    for (size_t k = 0; k < sizeof sum; k++) {
        unsigned byte;
        assert_int_equal(fscanf(pipe, "%2x", &byte), 1);
        sum[k] = (unsigned char)byte;
    }
    pclose(pipe);
    unlink(path);
    tl_report_text_base64(&base64, sum, sizeof sum);
    tl_report_text_addf(&expected, "script-src 'sha256-%s'\"", base64.data);
    assert_non_null(strstr(html.data, expected.data));
    assert_non_null(strstr(html.data, "default-src 'none'"));
    tl_report_text_free(&base64);
    tl_report_text_free(&expected);
    tl_report_text_free(&html);
    tl_sequence_free(&s);
}

static void names_from_outside_are_escaped(void **state) {
    (void)state;
    tl_sequence s = series_closeups();
    tl_report_text html;
    make_talk(&s, &html);
    assert_int_equal(count(html.data, "<W&"), 0);
    assert_true(count(html.data, "&lt;W&amp;W&gt;&quot;") > 0);
    tl_report_text_free(&html);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(talk_has_8_to_12_slides_from_title_to_safety),
        cmocka_unit_test(nothing_measured_is_no_talk),
        cmocka_unit_test(slides_are_those_of_which_something_is_known),
        cmocka_unit_test(slides_are_pictures_of_a_projector),
        cmocka_unit_test(only_names_of_slides_are_taken_for_one),
        cmocka_unit_test(words_stay_on_the_slide_and_off_each_other),
        cmocka_unit_test(words_wrap_shrink_and_are_cut_at_last),
        cmocka_unit_test(cautions_are_on_a_slide_of_every_talk),
        cmocka_unit_test(shares_are_those_of_the_eclipse),
        cmocka_unit_test(series_slides_say_what_is_open),
        cmocka_unit_test(page_is_well_formed_and_alone_in_the_world),
        cmocka_unit_test(every_slide_has_its_note_and_its_words),
        cmocka_unit_test(policy_lets_in_the_script_and_no_other),
        cmocka_unit_test(names_from_outside_are_escaped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
