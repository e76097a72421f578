/*
 * report.html and path.svg: well-formed, alone in the world, and drawn in the right place.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include <cmocka.h>

#include "report/report_internal.h"
#include "test_report_pages.h"
#include "test_report_series.h"

static pages make_pages(const tl_sequence *s) {
    pages p = {0};
    assert_int_equal(tl_report_source_make(s, &p.source), TL_OK);
    assert_int_equal(tl_report_path_svg(&p.source.facts, &p.source.path, &p.svg), TL_OK);
    assert_int_equal(tl_report_html(&p.source, &p.html), TL_OK);
    return p;
}

static void assert_valid_utf8(const char *text) {
    tl_report_text cleaned = {0};
    tl_report_add_utf8(&cleaned, text);
    assert_string_equal(tl_report_text_string(&cleaned), text);
    tl_report_text_free(&cleaned);
}

/* The only addresses are the names of the SVG and XLink namespaces, which nothing fetches. */
static void assert_self_contained(const char *html) {
    const size_t namespaces =
        count(html, "http://www.w3.org/2000/svg\"") + count(html, "http://www.w3.org/1999/xlink\"");
    assert_int_equal(count(html, "http:"), namespaces);
    assert_int_equal(count(html, "https:"), 0);
    assert_int_equal(count(html, "<script"), 1); /* its own: see the policy */
    assert_int_equal(count(html, "<link"), 0);
    assert_int_equal(count(html, "url(http"), 0);
    assert_int_equal(count(html, "@import"), 0);
}

static void pages_are_well_formed_for_every_kind_of_series(void **state) {
    (void)state;
    tl_sequence (*const make[])(void) = {series_solved, series_odd, series_no_site, series_nothing};
    for (size_t i = 0; i < sizeof make / sizeof *make; i++) {
        tl_sequence s = make[i]();
        pages p = make_pages(&s);
        assert_well_formed(p.svg.data);
        assert_well_formed(p.html.data);
        assert_valid_utf8(p.html.data);
        assert_self_contained(p.html.data);
        free_pages(&p);
        tl_sequence_free(&s);
    }
    tl_sequence none = {0};
    none.options.sky = tl_sky_options_default();
    pages p = make_pages(&none);
    assert_well_formed(p.html.data);
    free_pages(&p);
}

static void names_and_reasons_are_escaped(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    assert_non_null(strstr(p.html.data, "a&quot;&lt;script&gt;&amp;%\xE2\x90\x8A.jpg"));
    assert_non_null(strstr(p.html.data, "caf\xEF\xBF\xBD.jpg"));
    assert_non_null(strstr(p.html.data, "&quot;limb&quot; &lt;here&gt;"));
    assert_null(strstr(p.html.data, "<here>"));
    assert_null(strstr(p.html.data, "pictures/IMG")); /* folders are nobody's business */
    free_pages(&p);
    tl_sequence_free(&s);
}

/* Every link leads to a place that is there. */
static void links_lead_somewhere(void **state) {
    (void)state;
    tl_sequence (*const make[])(void) = {series_solved, series_nothing};
    for (size_t i = 0; i < sizeof make / sizeof *make; i++) {
        tl_sequence s = make[i]();
        pages p = make_pages(&s);
        size_t links = 0;
        for (const char *q = p.html.data; (q = strstr(q, " href=\"#")) != NULL; q++, links++) {
            char id[80];
            const char *target = q + strlen(" href=\"#");
            snprintf(id, sizeof id, "id=\"%.*s\"", (int)strcspn(target, "\""), target);
            if (count(p.html.data, id) != 1)
                fail_msg("%s is there %zu times", id, count(p.html.data, id));
        }
        assert_true(links > 20);
        free_pages(&p);
        tl_sequence_free(&s);
    }
}

/* No name is given twice: a link, or a picture used again, would lead to the wrong one. */
static void names_within_the_page_are_unique(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    size_t ids = 0;
    for (const char *q = p.html.data; (q = strstr(q, " id=\"")) != NULL; q++, ids++) {
        char id[80];
        snprintf(id, sizeof id, " id=\"%.*s\"", (int)strcspn(q + 5, "\""), q + 5);
        if (count(p.html.data, id) != 1)
            fail_msg("%s is there %zu times", id, count(p.html.data, id));
    }
    assert_true(ids > 4 * SERIES_FRAMES);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* The script is the one whose hash the policy has, byte by byte, and the policy allows no other:
 * by sha256sum of the GNU core utilities. */
static void only_its_own_script_may_run(void **state) {
    (void)state;
    static const char policy[] = "content=\"default-src 'none'; img-src data:; style-src "
                                 "'unsafe-inline'; script-src 'sha256-";
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    const char *hash = strstr(p.html.data, policy), *script = strstr(p.html.data, "<script>");
    assert_non_null(hash);
    assert_non_null(script);
    hash += sizeof policy - 1;
    assert_memory_equal(hash + strcspn(hash, "'"), "'\"/>", 4);
    script += strlen("<script>");
    const char *end = strstr(script, "</script>");
    assert_non_null(end);
    assert_null(memchr(script, '<', (size_t)(end - script)));
    assert_null(memchr(script, '&', (size_t)(end - script)));
    char path[] = "/tmp/twolimb-script-XXXXXX", command[160], read[80] = "";
    const int file = mkstemp(path);
    assert_true(file >= 0);
    assert_int_equal(write(file, script, (size_t)(end - script)), end - script);
    close(file);
    snprintf(command, sizeof command,
             "sha256sum %s | cut -c 1-64 | tr a-f A-F | basenc -d --base16 | base64", path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    assert_non_null(fgets(read, sizeof read, pipe));
    pclose(pipe);
    unlink(path);
    assert_int_equal(strcspn(read, "\n"), strcspn(hash, "'"));
    assert_memory_equal(read, hash, strcspn(read, "\n"));
    free_pages(&p);
    tl_sequence_free(&s);
}

/* A row says why its picture was refused, and shows it small by using it again; its times carry
 * their seconds. */
static void table_of_pictures_is_complete(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    const char *table = strstr(p.html.data, "id=\"frames-table\"");
    assert_non_null(table);
    assert_int_equal(count(table, "<tr><th scope=\"row\" class=\"file\"><a class=\"thumb\" "
                                  "href=\"#picture-"),
                     SERIES_FRAMES - 1);
    assert_int_equal(count(table, "<use href=\"#image-"), SERIES_FRAMES - 1);
    assert_int_equal(count(table, "<use href=\"#circles-"), 10); /* 9 measured, 1 Sun only */
    assert_non_null(strstr(table, "not readable<small>" SERIES_BROKEN_REASON "</small></td>"));
    assert_non_null(strstr(table, "<small>A cloud covers most of the &quot;limb&quot;"));
    /* 08:10 UTC of the day, and 2 h 37.4 s later by the camera's clock */
    assert_non_null(strstr(table, "data-v=\"1817194200.00\">08:10:00"));
    assert_non_null(strstr(table, "data-v=\"1817201437.40\">10:10:37"));
    free_pages(&p);
    tl_sequence_free(&s);
}

static void page_shows_every_picture(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    assert_int_equal(count(p.html.data, "<figure>"), SERIES_FRAMES);
    assert_int_equal(count(p.html.data, "data:image/jpeg;base64,/9j/2Q=="), SERIES_FRAMES - 1);
    assert_int_equal(count(p.html.data, "class=\"sun-line\" rx"), 10); /* 9 measured, 1 Sun only */
    assert_int_equal(count(p.html.data, "class=\"moon-line\" rx"), 9);
    assert_non_null(strstr(p.html.data, SERIES_BROKEN_REASON));
    free_pages(&p);
    tl_sequence_free(&s);
}

/* A picture of something else, a fortnight before and in another zone, changes neither from when to
 * when the eclipse was photographed, nor its day, nor the local time. */
static void the_rest_of_the_roll_says_nothing_of_the_eclipse(void **state) {
    (void)state;
    tl_sequence s = series_no_site();
    for (size_t i = 0; i < s.count; i++) {
        s.frame[i].info.time.zone_known = true;
        s.frame[i].info.time.zone_minutes = SERIES_ZONE_MINUTES;
    }
    const tl_report_facts before = tl_report_facts_of(&s);
    s.frame[SERIES_REFUSED].info.time.t_camera_s -= 14.0 * TL_DAY_S;
    s.frame[SERIES_REFUSED].info.time.zone_minutes = 0;
    const tl_report_facts facts = tl_report_facts_of(&s);
    assert_true(before.has_zone && facts.has_zone);
    assert_int_equal(facts.zone_minutes, SERIES_ZONE_MINUTES);
    assert_true(facts.first_camera_s == before.first_camera_s);
    assert_true(facts.day_s == SERIES_DAY_S);
    assert_int_equal(facts.timed, 10); /* of twelve: one refused, one not readable */
    tl_sequence_free(&s);
}

/* What the summary says, in the words of the page. */
static void page_tells_the_result_in_words(void **state) {
    (void)state;
    static const char *const told[] = {
        "<h1>Partial solar eclipse of 2 August 2027</h1>",
        "You caught 12 pictures; the 10 with the Sun were taken between 10:10:37 and 12:11:37 by "
        "the "
        "camera\u2019s clock; 9 could be measured.",
        "37.4\u00a0\u00b1\u00a00.3\u00a0s fast in zone UTC+02:00",
        "First contact at your place was at 08:02:29 UTC (10:02:29 local time), "
        "\u00b1\u00a02\u00a0s.",
        "Maximum was at 09:09:06.9 UTC (11:09:06.9 local time), \u00b1\u00a01.3\u00a0s.",
        "Last contact was at 10:19:25 UTC (12:19:25 local time)",
        "First and last contact lie outside your pictures",
        "0.6781\u00a0\u00b1\u00a00.0013\u00a0solar radii away from the Sun\u2019s; the almanac has "
        "0.6784",
        "1 of the 3 times measured differs",
        "mirrored, as by a star diagonal",
        "0.6988\u00a0\u00b1\u00a00.0007 (almanac 0.6987), with 63.58\u00a0\u00b1\u00a00.08\u00a0% "
        "of the disc",
        "agrees (0.7 \u03c3)",  /* C1: 1.9 / hypot(2.4, 1.4) */
        "differs (3.2 \u03c3)", /* C4: 9.4 / hypot(2.6, 1.4) */
        "FRONT",
        "ISO 12312-2"};
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    for (size_t i = 0; i < sizeof told / sizeof *told; i++)
        if (!strstr(p.html.data, told[i]))
            fail_msg("not told: %s", told[i]);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* What is odd about clocks, stamps and single pictures, on the page. */
static void page_tells_what_is_odd(void **state) {
    (void)state;
    static const char *const told[] = {
        "The clock of camera 1, which gave the most pictures, itself ran "
        "37.4\u00a0\u00b1\u00a00.3\u00a0s fast in zone UTC+02:00 and gains "
        "12\u00a0\u00b1\u00a03\u00a0s a day.",
        "The clock of camera 2 ran 12\u00a0\u00b1\u00a02\u00a0s slow in zone UTC+00:00. Its date "
        "was "
        "365 "
        "days behind: its year is wrong.",
        "camera 1<small>the main one</small></th><td class=\"n\">10</td><td class=\"n\">6</td>"
        "<td class=\"n\">+37.4</td><td class=\"n\">0.3</td><td>UTC+02:00</td>"
        "<td class=\"n\">+12\u00a0\u00b1\u00a03</td></tr>",
        "<td class=\"n\">none seen</td></tr>",
        "the Sun turned by 41\u00b0 anticlockwise in the picture",
        "The pictures are not mirrored (given). That is what you said.",
        "on average 14\u00a0\u00b1\u00a02\u00a0s after they were taken",
        "The stamps scatter by 6\u00a0\u00b1\u00a02\u00a0s more than reading errors",
        "take off 2\u00a0h 0\u00a0min 37.4\u00a0s: its zone and its error",
        "add 365 days 0\u00a0h 0\u00a0min 12\u00a0s: its zone and its error",
        "(139\u00a0\u00b1\u00a035\u00a0millionths, or ppm, of the time that passes)",
        "A gain is only told where it is seen",
        "Its stamps are late, on average by 14\u00a0\u00b1\u00a02\u00a0s; how late each one is",
        "cannot be told from an error of the clock",
        "<dt>saved</dt><dd>+5.0\u00a0s after it was taken</dd>",
        "<dt>either</dt><dd>08:32:00 UTC \u00b1 4 s</dd><dt>or</dt><dd>09:46:20 UTC",
        "<dt>told by</dt><dd>its circles and the order of the names</dd>",
        "08:32:00<br/>or 09:46:20",
        "<small>by order of names</small>",
        ">IMG_0011.JPG</a> is left out: its circles are 0.031 solar radii (about 62\u00a0s)",
        "by its time it is of another day, 4 August 2027.",
        "<dt>left out</dt><dd>of another day</dd>",
        "<span class=\"status\">measured, camera 2</span>"};
    tl_sequence s = series_odd();
    pages p = make_pages(&s);
    for (size_t i = 0; i < sizeof told / sizeof *told; i++)
        if (!strstr(p.html.data, told[i]))
            fail_msg("not told: %s", told[i]);
    /* Said once: of the second camera's clock only what differs. */
    assert_null(strstr(p.html.data, "none is claimed"));
    const char *saved = strstr(p.html.data, "after they were taken");
    assert_null(strstr(saved + 1, "after they were taken"));
    assert_true(p.source.path.direction_measured && p.source.path.direction_followed);
    /* From when to when is by the main camera's clock, whose days the others do not share. */
    assert_close(p.source.facts.first_camera_s, s.frame[0].info.time.t_camera_s, 1e-6);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* The almanac's contacts stand alone where none was measured. */
static void page_has_no_empty_columns(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    for (int which = 0; which < TL_CONTACTS; which++)
        s.track.contact[which].measured = false;
    s.track.has_smallest = s.track.has_direction = false;
    pages p = make_pages(&s);
    assert_non_null(strstr(p.html.data, "<th>Contact</th><th>Almanac, UTC</th></tr>"));
    assert_non_null(strstr(p.html.data, "first contact</small></th><td class=\"t\">08:02:26.7"));
    assert_null(strstr(p.html.data, "O \u2212 C is observed minus computed"));
    free_pages(&p);
    tl_sequence_free(&s);
}

/* A direction is no test where the almanac gave the turn; where no turn is shared there is none. */
static void direction_is_told_with_what_it_rests_on(void **state) {
    (void)state;
    static const char row[] = "Direction of its motion<small>degrees, from north through "
                              "east</small></th>";
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    const char *found = strstr(p.html.data, row);
    assert_non_null(found);
    static const char cells[] = "<td class=\"n\">114.62</td><td class=\"n\">0.13</td><td "
                                "class=\"n\">114.71</td><td class=\"n\">\u22120.09</td><td>no test";
    assert_memory_equal(found + strlen(row), cells, strlen(cells));
    assert_non_null(strstr(p.html.data, "a mean difference is nil by construction"));
    free_pages(&p);
    /* Across north the difference is the short way round: 0.2 degrees, not 359.8. */
    s.track.direction_pa_rad = 0.1 * TL_DEG;
    s.track.direction_predicted_rad = 359.9 * TL_DEG;
    p = make_pages(&s);
    assert_non_null(strstr(strstr(p.html.data, row), "359.90</td><td class=\"n\">+0.20</td>"));
    free_pages(&p);
    s.track.has_direction = false;
    p = make_pages(&s);
    found = strstr(p.html.data, row);
    assert_non_null(found);
    static const char almanac[] = "<td class=\"n\"></td><td class=\"n\"></td><td "
                                  "class=\"n\">359.90</td><td class=\"n\"></td>";
    assert_memory_equal(found + strlen(row), almanac, strlen(almanac));
    assert_non_null(strstr(p.html.data, "the one given is the almanac"));
    free_pages(&p);
    tl_sequence_free(&s);
}

/* Every picture that can be enlarged leads to how it was measured, also the one of the hostile
 * name.
 */
static void pictures_lead_to_their_limbs(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    assert_int_equal(count(p.html.data, "href=\"limbs/"),
                     SERIES_FRAMES - 1); /* one is unreadable */
    assert_non_null(strstr(p.html.data, "href=\"limbs/001-IMG_0001.jpg\""));
    assert_non_null(strstr(p.html.data, "href=\"limbs/004-a__script____.jpg\""));
    free_pages(&p);
    tl_sequence_free(&s);
}

/* ---- where things are drawn --------------------------------------------------------------- */

/* Where a letter stands, in px of the preview; `picture` is 1 for the first. */
static void letter_at(const char *html, int picture, const char *letter, double *x, double *y) {
    char start[32], text[32];
    snprintf(start, sizeof start, "id=\"picture-%d\"", picture);
    snprintf(text, sizeof text, ">%s</text>", letter);
    const char *found = strstr(html, start);
    assert_non_null(found);
    found = strstr(found, text);
    assert_non_null(found);
    while (strncmp(found, "<text", 5) != 0)
        found--;
    assert_int_equal(sscanf(found, "<text class=\"letters\" x=\"%lf\" y=\"%lf\"", x, y), 2);
}

/* The picture's zenith up, not mirrored: Z stands straight above the centre, and the flattening is
 * along the vertical. Closed form of the preview's mapping, (p - corner) * scale. */
static void overlay_lies_on_the_picture(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    s.track.camera[0].mirrored = TL_MIRROR_NO;
    s.track.frame[0].up_pa_rad = s.track.frame[0].sky.parallactic_rad;
    s.frame[0].limb.flattening = 0.98;
    s.frame[0].limb.flat_y = -1.0;
    pages p = make_pages(&s);
    const char *first = strstr(p.html.data, "id=\"picture-1\"");
    assert_non_null(first);
    const char *sun = strstr(first, "class=\"sun-line\"");
    /* (800.25 - 319.5) / 2 = 240.375, (600.5 - 119.5) / 2 = 240.5, 300.125 / 2 = 150.0625 */
    static const char ellipse[] = "class=\"sun-line\" rx=\"147.06\" ry=\"150.06\" "
                                  "transform=\"translate(240.38 240.50) rotate(-90.0)\"/>";
    assert_non_null(sun);
    assert_memory_equal(sun, ellipse, strlen(ellipse));
    double x, y;
    letter_at(p.html.data, 1, "Z", &x, &y);
    assert_close(x, 240.375, 0.06); /* px: one decimal is written */
    assert_true(y < 240.5 - 150.06);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* North stands where base.h has it, mirrored or not as the picture's own camera is: x = -sin(0 -
 * up_pa) of the radius, and the other way in a mirrored one. The zenith is 3 degrees from up. */
static void letters_follow_the_mirror_of_their_camera(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    pages p = make_pages(&s);
    static const size_t frame[] = {0, SERIES_SECOND};
    for (int k = 0; k < 2; k++) {
        const size_t i = frame[k];
        const double cx = (s.frame[i].limb.circle[TL_SUN_X] - 319.5) / 2.0;
        double x, y;
        letter_at(p.html.data, (int)i + 1, "N", &x, &y);
        const double right = sin(s.track.frame[i].up_pa_rad); /* of a picture not mirrored */
        assert_true(fabs(right) > 0.3);
        assert_true((x - cx) * (k == 0 ? -right : right) > 0.0);
    }
    free_pages(&p);
    tl_sequence_free(&s);
}

/* A picture with nothing but the Sun's centre at (319.5, 119.5): the very corner of the preview. */
static void overlay_corner_is_the_pixel_corner(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    s.frame[0].limb.circle[TL_SUN_X] = 319.5;
    s.frame[0].limb.circle[TL_SUN_Y] = 119.5;
    pages p = make_pages(&s);
    const char *first = strstr(p.html.data, "id=\"picture-1\"");
    assert_non_null(first);
    assert_non_null(strstr(strstr(first, "class=\"sun-line\""), "translate(0.00 0.00)"));
    free_pages(&p);
    tl_sequence_free(&s);
}

static void drawing_is_900_px_wide(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    assert_non_null(strstr(p.svg.data, "width=\"900px\""));
    assert_non_null(strstr(p.html.data, "src=\"data:image/svg+xml;base64,"));
    free_pages(&p);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pages_are_well_formed_for_every_kind_of_series),
        cmocka_unit_test(names_and_reasons_are_escaped),
        cmocka_unit_test(links_lead_somewhere),
        cmocka_unit_test(names_within_the_page_are_unique),
        cmocka_unit_test(only_its_own_script_may_run),
        cmocka_unit_test(table_of_pictures_is_complete),
        cmocka_unit_test(page_shows_every_picture),
        cmocka_unit_test(page_tells_the_result_in_words),
        cmocka_unit_test(the_rest_of_the_roll_says_nothing_of_the_eclipse),
        cmocka_unit_test(page_tells_what_is_odd),
        cmocka_unit_test(page_has_no_empty_columns),
        cmocka_unit_test(direction_is_told_with_what_it_rests_on),
        cmocka_unit_test(pictures_lead_to_their_limbs),
        cmocka_unit_test(overlay_lies_on_the_picture),
        cmocka_unit_test(letters_follow_the_mirror_of_their_camera),
        cmocka_unit_test(overlay_corner_is_the_pixel_corner),
        cmocka_unit_test(drawing_is_900_px_wide),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
