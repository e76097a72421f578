/*
 * Sunspots on the page, on the drawing of the path and on the images below limbs/.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/html_internal.h"
#include "report/limbs_internal.h"
#include "report/spots_internal.h"
#include "test_report_pages.h"
#include "test_report_spot_series.h"

static pages make_pages(const tl_sequence *s) {
    pages p = {0};
    assert_int_equal(tl_report_source_make(s, &p.source), TL_OK);
    assert_int_equal(tl_report_path_svg(&p.source.facts, &p.source.path, &p.svg), TL_OK);
    const tl_report_page page = tl_report_page_of(&p.source, &p.html);
    tl_report_html_spots(&page);
    assert_false(p.html.failed);
    return p;
}

static void assert_has(const pages *p, const char *what) {
    if (!strstr(p->html.data, what))
        fail_msg("not there: %s\n%s", what, p->html.data);
}

static void section_has_table_map_and_signs(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    pages p = make_pages(&s);
    assert_has(&p, "3 sunspots were followed through 9 pictures.");
    assert_has(&p, "08:20:00\u00a0\u00b1\u00a03\u00a0s<small>camera 10:20:38");
    assert_has(&p, "before: <a href=\"#place-7\"><bdi>IMG_0007.JPG");
    assert_has(&p, "not covered from here<small>outside the Moon\u2019s edge by 0.125");
    assert_has(&p, "not sure<small>inside the Moon\u2019s edge by 0.004");
    assert_has(&p, "<li>Spot C could be dust:");
    assert_int_equal(count(p.html.data, "<circle class=\"spot\""), SPOT_COUNT);
    /* Of the parallels from 60 S to 60 N and the meridians from 90 E to 90 W, every 30 degrees, the
     * third and the ninth are the equator and the central one. */
    const char *curve = strstr(p.html.data, "<path class=\"grid");
    for (size_t k = 0; k < 12; k++, curve = strstr(curve + 1, "<path class=\"grid"))
        assert_int_equal(strncmp(curve, "<path class=\"grid main\"", 23) == 0, k == 2 || k == 8);
    assert_null(curve);
    /* Nine measured pictures, three spots, and each sign says in words what it is. */
    assert_int_equal(count(p.html.data, "<use href=\"#sign-"), 27);
    assert_int_equal(count(p.html.data, "role=\"img\" aria-label=\"seen\">") +
                         count(p.html.data, "role=\"img\" aria-label=\"covered by the Moon\">") +
                         count(p.html.data, "role=\"img\" aria-label=\"on the Moon\u2019s limb\">"),
                     27);
    assert_int_equal(count(p.html.data, "class=\"closeups\""), 0);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* Seventy pictures of three spots do not fit a sheet of paper side by side: 32, 32 and six. */
static void many_pictures_go_below_each_other(void **state) {
    (void)state;
    enum { MANY = 70 };
    tl_sequence s = series_spots(), many = s;
    pages p = {0};
    assert_int_equal(tl_report_source_make(&s, &p.source), TL_OK);
    many.count = many.spots.frame_count = MANY;
    many.frame = calloc(MANY, sizeof *many.frame);
    many.track.frame = calloc(MANY, sizeof *many.track.frame);
    many.spots.sight = calloc(MANY * SPOT_COUNT, sizeof *many.spots.sight);
    assert_true(many.frame && many.track.frame && many.spots.sight);
    for (size_t i = 0; i < MANY; i++) {
        many.frame[i] = s.frame[0];
        many.track.frame[i] = s.track.frame[0];
        for (size_t k = 0; k < SPOT_COUNT; k++)
            many.spots.sight[k * MANY + i].state = TL_SPOT_VISIBLE;
    }
    tl_report_page page = tl_report_page_of(&p.source, &p.html);
    page.sequence = &many;
    tl_report_html_spot_states(&page);
    assert_false(p.html.failed);
    assert_int_equal(count(p.html.data, "<table class=\"states\">"), 3);
    assert_int_equal(count(p.html.data, "<use href=\"#sign-"), MANY * SPOT_COUNT);
    const char *last = strstr(p.html.data, "#place-65\"");
    assert_non_null(last);
    assert_int_equal(count(last, "<use href=\"#sign-"), 6 * SPOT_COUNT);
    free(many.frame);
    free(many.track.frame);
    free(many.spots.sight);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* A map of 172 px to the radius about (214, 218): a spot 0.35 east, 0.61 north stands left and up
 * of its middle. */
static void map_has_east_on_the_left(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    pages p = make_pages(&s);
    const char *b = strstr(p.html.data, "<circle class=\"spot\"");
    b = strstr(b + 1, "<circle class=\"spot\"");
    const double half_digit = 0.0501;
    assert_close(strtod(strstr(b, "cx=\"") + 4, NULL), 214.0 - 172.0 * 0.35, half_digit);
    assert_close(strtod(strstr(b, "cy=\"") + 4, NULL), 218.0 - 172.0 * 0.61, half_digit);
    free_pages(&p);
    tl_sequence_free(&s);
}

static void without_spots_a_line_says_why(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    for (size_t i = 0; i < 4; i++)
        s.frame[i].marks.searched = true;
    strcpy(s.spots.note, "Their disc is <too> blurred.");
    s.spots.dust_count = 2;
    pages p = make_pages(&s);
    assert_has(&p, "<p>No sunspot was found in the 4 pictures searched. Their disc is "
                   "&lt;too&gt; blurred.</p>");
    assert_has(&p, "<li>2 dark marks stayed put in the frame");
    assert_int_equal(count(p.html.data, "<table"), 0);
    assert_int_equal(count(p.html.data, "<svg"), 0);
    assert_int_equal(p.source.path.spot_count, 0);
    free_pages(&p);
    tl_sequence_free(&s);
}

static void without_a_place_places_on_the_sun_stay(void **state) {
    (void)state;
    tl_sequence s = series_no_site();
    spots_make_room(&s, 1);
    s.spots.spot[0] = spot_at("A", 0.2, 0.3, SPOT_AREA_PPM);
    s.spots.spot[0].has_passages = false;
    s.spots.mirror_decided = false;
    spots_follow(&s);
    pages p = make_pages(&s);
    assert_has(&p, "When the Moon covered spot A cannot be said");
    assert_has(&p, "14.2\u00b0\u00a0N, 23.5\u00b0\u00a0E");
    assert_has(&p, "<td colspan=\"2\">times not known</td>");
    assert_has(&p, "<li>Whether the pictures are mirrored is open: the spots");
    assert_int_equal(count(p.html.data, "<circle class=\"spot\""), 1);
    assert_int_equal(p.source.path.spot_count, 0); /* the drawing knows no directions then */
    free_pages(&p);
    tl_sequence_free(&s);
}

static void names_are_escaped(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    memcpy(s.spots.spot[SPOT_A].name, "<script>\"&'\xE9\xC3\x1B\n", 15);
    memcpy(s.spots.spot[SPOT_B].name, "</text></svg>\xFF\xFE", 15);
    s.frame[0].preview.width = 480;
    pages p = make_pages(&s);
    assert_int_equal(count(p.html.data, "<script"), 0);
    assert_int_equal(count(p.html.data, "</svg>\xEF\xBF\xBD"), 0);
    assert_has(&p, "&lt;script&gt;&quot;&amp;&#39;\xEF\xBF\xBD");
    assert_null(strchr(p.html.data, '\x1B'));
    tl_report_text cleaned = {0};
    tl_report_add_utf8(&cleaned, p.html.data);
    assert_string_equal(cleaned.data, p.html.data);
    cleaned.length = 0;
    const tl_report_page page = tl_report_page_of(&p.source, &cleaned);
    tl_report_html_overlay(&page, 0);
    assert_int_equal(count(cleaned.data, "<script"), 0);
    assert_true(count(cleaned.data, "class=\"ring\"") > 0);
    tl_report_text_free(&cleaned);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* The Moon's limb by plain geometry: with north up and the spot in the middle of 100 px that span
 * 0.5 sr, the Moon's centre lies (0.4, -0.1) sr east, north of the spot. */
static void closeups_carry_the_limb(void **state) {
    (void)state;
    static const unsigned char jpeg[] = {0xFF, 0xD8, 0xFF, 0xD9};
    tl_sequence s = series_spots();
    s.closeup = calloc(3, sizeof *s.closeup);
    assert_non_null(s.closeup);
    s.closeup_count = 3;
    for (size_t k = 0; k < 3; k++) {
        s.closeup[k] = (tl_closeup){.spot = SPOT_A,
                                    .frame = k + 1,
                                    .uncovering = k == 2,
                                    .jpeg = malloc(sizeof jpeg),
                                    .size = sizeof jpeg,
                                    .side = 100,
                                    .side_sr = 0.5};
        assert_non_null(s.closeup[k].jpeg);
        memcpy(s.closeup[k].jpeg, jpeg, sizeof jpeg);
    }
    tl_spot_sight *sight = &s.spots.sight[SPOT_A * SERIES_FRAMES + 1];
    tl_limb *limb = &s.frame[1].limb;
    double x, y;
    s.spots.turn[1].joint_up_pa_rad = 0.7;
    tl_frame_from_sky(0.7, true, 0.4, -0.1, &x, &y);
    limb->offset_x_sr = sight->x_sr + x;
    limb->offset_y_sr = sight->y_sr + y;
    s.track.frame[1].true_utc_s = SERIES_DAY_S + SPOT_COVERED_S - 42.0;
    s.track.frame[3].true_utc_s = SERIES_DAY_S + SPOT_UNCOVERED_S - 90.0;
    pages p = make_pages(&s);
    assert_has(&p, "<h4>Spot <bdi>A</bdi>, covered at 08:20:00 UTC</h4>");
    assert_has(&p, "<h4>Spot <bdi>A</bdi>, uncovered at 09:26:41 UTC</h4>");
    assert_int_equal(count(p.html.data, "class=\"closeups\""), 2);
    assert_int_equal(count(p.html.data, "data:image/jpeg;base64,/9j/2Q=="), 3);
    assert_has(&p, "08:19:18 UTC</span><span>42\u00a0s before</span>");
    const char *moon = strstr(p.html.data, "<circle class=\"moon-line\"");
    assert_non_null(moon);
    const double half_digit = 0.00501;
    assert_close(strtod(strstr(moon, "cx=\"") + 4, NULL), 50.0 - 200.0 * 0.4, half_digit);
    assert_close(strtod(strstr(moon, "cy=\"") + 4, NULL), 50.0 + 200.0 * 0.1, half_digit);
    assert_close(strtod(strstr(moon, "r=\"") + 3, NULL), 200.0 * SERIES_RATIO, half_digit);
    free_pages(&p);
    /* Half an hour away, and a little: nothing of that strip is worth a look. */
    s.track.frame[3].true_utc_s = SERIES_DAY_S + SPOT_UNCOVERED_S - 1801.0;
    p = make_pages(&s);
    assert_int_equal(count(p.html.data, "class=\"closeups\""), 1);
    s.track.frame[3].true_utc_s += 2.0;
    free_pages(&p);
    sight->has_place = false;
    p = make_pages(&s);
    assert_int_equal(count(p.html.data, "class=\"closeups\""), 2);
    assert_int_equal(count(p.html.data, "<circle class=\"moon-line\""), 2);
    free_pages(&p);
    tl_sequence_free(&s);
}

static void thirty_spots_are_all_there(void **state) {
    (void)state;
    tl_sequence s = series_many_spots(30);
    pages p = make_pages(&s);
    assert_int_equal(count(p.html.data, "<tr><th scope=\"row\"><bdi>"), 60); /* table and signs */
    assert_int_equal(count(p.html.data, "class=\"letter\""), 30);
    /* Not one sentence for each: three, and the table. */
    assert_int_equal(count(p.html.data, "The Moon\u2019s limb reached the centre of spot"), 3);
    assert_int_equal(p.source.path.spot_count, 30);
    assert_int_equal(p.source.path.crossing_count, 12);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* At a crossing the Moon's centre is where the almanac has it at that time. */
static void crossings_lie_on_the_path(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    pages p = make_pages(&s);
    tl_sky sky;
    assert_int_equal(p.source.path.crossing_count, 2);
    assert_int_equal(
        tl_sky_at(&s.options.site, SERIES_DAY_S + SPOT_UNCOVERED_S, &s.options.sky, &sky), TL_OK);
    assert_false(p.source.path.crossing[0].uncovering);
    assert_true(p.source.path.crossing[1].uncovering);
    assert_close(p.source.path.crossing[1].moon.east_sr, sky.east_sr, 1e-9); /* the same call */
    assert_close(p.source.path.spot[SPOT_B].north_sr, 0.61, 1e-12);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* The caption names the sunspots where they tell how pictures were turned. */
static void caption_knows_the_turns_by_spots(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    pages p = make_pages(&s);
    assert_false(p.source.path.turned_by_spots);
    free_pages(&p);
    s.track.frame[2].turn_by = TL_TURN_BY_SPOTS;
    s.track.frame[2].mirrored = true;
    p = make_pages(&s);
    assert_true(p.source.path.turned_by_spots);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* The table of pictures: +0.25 and -0.25 degrees by turns, 0.40 expected. */
static void turns_by_spots_and_moon_are_compared(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    pages p = make_pages(&s);
    p.html.length = 0;
    const tl_report_page page = tl_report_page_of(&p.source, &p.html);
    tl_report_html_holding(&page);
    assert_has(&p, "In 9 pictures the turn by the spots and the one by the Moon in the picture "
                   "itself differ by 0.25\u00b0 rms; their errors make one expect 0.40\u00b0.");
    assert_has(&p, "Turn, spots<br/>less Moon");
    assert_has(&p, "<td class=\"n\">\u22120.2\u00a0\u00b1\u00a00.4</td></tr>");
    assert_has(&p, "<td class=\"n\">+0.2\u00a0\u00b1\u00a00.4</td></tr>");
    s.spots.frame_count = 0; /* no spots: no such column */
    p.html.length = 0;
    tl_report_html_holding(&page);
    assert_int_equal(count(p.html.data, "less Moon"), 0);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* ---- letters beside points ------------------------------------------------------------------ */

static bool overlap(const tl_report_box *a, const tl_report_box *b) {
    return fabs(a->x - b->x) < a->half_width + b->half_width - 1e-9 &&
           fabs(a->y - b->y) < a->half_height + b->half_height - 1e-9;
}

static void letters_keep_off_each_other(void **state) {
    (void)state;
    enum { COUNT = 12 };
    tl_report_label label[COUNT];
    const tl_report_box taken = {120.0, 82.0, 15.0, 8.0};
    for (size_t k = 0; k < COUNT; k++) /* two rows of points 14 px apart */
        label[k] = (tl_report_label){.x = 100.0 + 14.0 * (double)(k % 6),
                                     .y = 100.0 + 14.0 * (double)(k / 6),
                                     .radius = 3.0,
                                     .box = {.half_width = 5.0, .half_height = 6.0}};
    tl_report_place_labels(label, COUNT, &taken, 1);
    for (size_t k = 0; k < COUNT; k++) {
        assert_false(overlap(&label[k].box, &taken));
        for (size_t other = 0; other < COUNT; other++) {
            const tl_report_box point = {label[other].x, label[other].y, 3.0, 3.0};
            assert_false(overlap(&label[k].box, &point));
            assert_false(other != k && overlap(&label[k].box, &label[other].box));
        }
    }
}

/* A letter alone stays near: its box's nearest point at most 4 px from the rim of its point. */
static void letter_alone_stays_near(void **state) {
    (void)state;
    tl_report_label label = {
        .x = 50.0, .y = 60.0, .radius = 4.0, .box = {.half_width = 5.0, .half_height = 6.0}};
    tl_report_place_labels(&label, 1, NULL, 0);
    const double dx = fmax(fabs(label.box.x - 50.0) - 5.0, 0.0);
    const double dy = fmax(fabs(label.box.y - 60.0) - 6.0, 0.0);
    assert_true(hypot(dx, dy) <= 4.0 + 4.0);
    assert_false(label.far);
}

/* ---- the images below limbs/ ---------------------------------------------------------------- */

/* A ring runs outside a round mark of its area. */
static void rings_hide_nothing(void **state) {
    (void)state;
    const tl_spot_mark mark = {.area_px2 = TL_PI * 10.0 * 10.0};
    assert_true(tl_report_mark_reach(&mark) > 10.0);
    assert_true(tl_report_mark_reach(&mark) < 20.0);
}

/* cairo draws nothing more after a text that is not UTF-8. */
static void letters_can_be_drawn(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    memcpy(s.spots.spot[SPOT_B].name, "B\xFF\xFE\xC3", 5);
    s.frame[0].marks.mark[0].kind = TL_MARK_SPOT;
    s.frame[0].marks.mark[0].spot = SPOT_B;
    const tl_report_window window = {0.0, 0.0, 1600.0, 1200.0, 0.0, 0.0, 1.0};
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 1600, 1200);
    cairo_t *cr = cairo_create(surface);
    tl_report_draw_dark_marks(cr, &window, &s, 0);
    assert_int_equal(cairo_status(cr), CAIRO_STATUS_SUCCESS);
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
    tl_sequence_free(&s);
}

static void sheet_counts_the_marks(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    const char *label = "";
    tl_report_text text = {0};
    s.frame[0].marks.mark[0].kind = TL_MARK_SPOT;
    for (size_t n = 0; label && strcmp(label, "Dark marks") != 0; n++) {
        text.length = 0;
        label = tl_report_limbs_row(&s, 0, n, &text);
    }
    assert_non_null(label);
    assert_non_null(strstr(text.data, "of spots (ring, letter), 1 dust (square)"));
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(section_has_table_map_and_signs),
        cmocka_unit_test(many_pictures_go_below_each_other),
        cmocka_unit_test(map_has_east_on_the_left),
        cmocka_unit_test(without_spots_a_line_says_why),
        cmocka_unit_test(without_a_place_places_on_the_sun_stay),
        cmocka_unit_test(names_are_escaped),
        cmocka_unit_test(closeups_carry_the_limb),
        cmocka_unit_test(thirty_spots_are_all_there),
        cmocka_unit_test(crossings_lie_on_the_path),
        cmocka_unit_test(caption_knows_the_turns_by_spots),
        cmocka_unit_test(turns_by_spots_and_moon_are_compared),
        cmocka_unit_test(letters_keep_off_each_other),
        cmocka_unit_test(letter_alone_stays_near),
        cmocka_unit_test(rings_hide_nothing),
        cmocka_unit_test(letters_can_be_drawn),
        cmocka_unit_test(sheet_counts_the_marks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
