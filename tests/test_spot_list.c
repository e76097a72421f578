/*
 * test_spot_list.c - sunspots from a user's table.
 */
#include <string.h>

#include "check.h"
#include "picture.h"
#include "twolimb/spot.h"

/* 2013-04-01 and -02, 0 h: date -u -d 2013-04-01 +%s (GNU coreutils). */
#define APRIL_1_S 1364774400.0
#define APRIL_2_S 1364860800.0
/* Astronomical Almanac 2013 (as in the tests of SunPy): L0 at 04-01 0h TT; UTC is 67.2 s later, in
 * which it falls by 0.0103 degrees (13.2 a day). */
static const double l0_april_1_deg = 221.44 - 0.0103;
/* Printed to 0.01. */
static const double almanac_tolerance_deg = 0.007;
static const double exact_rad = 1e-12;

static tl_status read_list(const char *text, int *line, tl_spot_list *list) {
    scratch s;
    char path[PATH_SIZE];
    scratch_make(&s);
    scratch_path(&s, "spots.csv", path);
    write_text(path, text);
    const tl_status status = tl_spot_list_read(path, line, list);
    remove_tree(s.folder);
    return status;
}

static void check_place(const tl_spot *spot, double latitude_deg, double longitude_deg) {
    check_near(spot->latitude_rad, latitude_deg * TL_DEG, exact_rad);
    check_near(spot->longitude_rad, longitude_deg * TL_DEG, exact_rad);
    check_near(tl_angle_signed(spot->carrington_rad - (l0_april_1_deg + longitude_deg) * TL_DEG),
               0.0, almanac_tolerance_deg * TL_DEG);
}

static void rows_as_written(void **state) {
    (void)state;
    int line = -7;
    tl_spot_list list;
    assert_int_equal(
        read_list("\xef\xbb\xbf# invented, by nobody\r\n"
                  "Remark,Name,TIME,latitude_deg,carrington_deg,longitude_deg,radius_arcsec,"
                  "sigma_deg,place\r\n"
                  "east of the middle,1001,2013-04-01,-12.5,,-30.25,15,0.2,\r\n"
                  ",1001,2013-04-02T00:00:00Z,7,191.5,,,,\r\n"
                  "\r\n"
                  ",\"B, small\",2013-04-01T02:00+02:00,,,,,,N14W24\r\n"
                  ",C,2013-04-01 00:00:00.0,,,,,, s05.5 e123.25\r\n",
                  &line, &list),
        TL_OK);
    assert_int_equal(line, -7);
    assert_int_equal(list.count, 4);
    const tl_spot *spot = list.spot;
    for (size_t i = 0; i < list.count; i++) {
        assert_true(spot[i].from_list);
        assert_false(spot[i].in_pictures || spot[i].has_passages);
        check_near(spot[i].epoch_utc_s, i == 1 ? APRIL_2_S : APRIL_1_S, 0.0);
    }
    assert_string_equal(spot[0].name, "1001");
    check_place(&spot[0], -12.5, -30.25);
    check_near(spot[0].radius_sr, 15.0 / 959.63, exact_rad);
    check_near(spot[0].latitude_sigma_rad, 0.2 * TL_DEG, exact_rad);
    check_near(spot[0].longitude_sigma_rad, 0.2 * TL_DEG, exact_rad);
    /* East of the central meridian: east on the sky, about, P being -26 degrees. */
    assert_true(spot[0].east_sr > 0.3);
    assert_true(spot[0].east_sigma_sr > 0.0 && spot[0].north_sigma_sr > 0.0);
    /* The same spot on another day is another row. */
    assert_string_equal(spot[1].name, "1001");
    check_near(spot[1].carrington_rad, 191.5 * TL_DEG, exact_rad);
    check_near(spot[1].latitude_rad, 7.0 * TL_DEG, exact_rad);
    /* L0 falls by 13.2 degrees a day. */
    check_near(spot[1].longitude_rad / TL_DEG, 191.5 - (l0_april_1_deg - 13.2), 0.02);
    check_near(spot[1].radius_sr, 10.0 / 959.63, exact_rad);
    check_near(spot[1].latitude_sigma_rad, 0.5 * TL_DEG, exact_rad);
    assert_true(spot[1].radius_sigma_sr / spot[1].radius_sr >
                spot[0].radius_sigma_sr / spot[0].radius_sr);
    assert_string_equal(spot[2].name, "B, small");
    check_place(&spot[2], 14.0, 24.0);
    assert_string_equal(spot[3].name, "C");
    check_place(&spot[3], -5.5, -123.25);
    tl_spot_list_free(&list);
    assert_null(list.spot);
    tl_spot_list_free(&list);
    tl_spot_list_free(NULL);
}

/* Columns in their shortest form, and a list without rows. */
static void few_columns(void **state) {
    (void)state;
    int line = -7;
    tl_spot_list list;
    assert_int_equal(read_list("time,place,name\n2013-04-01,S00W000,A\n", &line, &list), TL_OK);
    assert_int_equal(list.count, 1);
    check_place(&list.spot[0], 0.0, 0.0);
    tl_spot_list_free(&list);
    assert_int_equal(read_list("name,time,place\nFl\xC3\xA4"
                               "che,2013-04-01,N01W01\n"
                               "\xE2\x98\x89\xF0\x9F\x8C\x91,2013-04-01,N01W01\n",
                               &line, &list),
                     TL_OK);
    assert_int_equal(list.count, 2);
    tl_spot_list_free(&list);
    assert_int_equal(read_list("name,time,place\n", &line, &list), TL_OK);
    assert_int_equal(list.count, 0);
    tl_spot_list_free(&list);
}

static void bad_rows_name_the_line(void **state) {
    (void)state;
#define CARRINGTON "name,time,latitude_deg,carrington_deg,radius_arcsec,sigma_deg\n"
#define EITHER "name,time,latitude_deg,carrington_deg,longitude_deg,place\n"
    static const struct {
        const char *text;
        int line;
    } bad[] = {
        {"# only words\n", 1},
        {"name,time,latitude_deg\n", 1},
        {"name,time,carrington_deg\n", 1},
        {"name,latitude_deg,carrington_deg\n", 1},
        {"time,place\n", 1},
        {"name,time,place,place\n", 1},
        {"name|time|place\n", 1},
        {CARRINGTON "A,2013-04-01,5,6\n,2013-04-01,5,6\n", 3},
        /* bytes that are no UTF-8: RFC 3629, sections 3, 4 and 10 */
        {CARRINGTON "Fl\xE4"
                    "che,2013-04-01,5,6\n",
         2},
        {CARRINGTON "\xC0\xAF,2013-04-01,5,6\n", 2},
        {CARRINGTON "\xED\xA1\x8C,2013-04-01,5,6\n", 2},
        {CARRINGTON "\xF4\x90\x80\x80,2013-04-01,5,6\n", 2},
        {CARRINGTON "Z\xC2\x9B"
                    "1m,2013-04-01,5,6\n",
         2}, /* a control character of ISO 6429 */
        {CARRINGTON "a name too long,2013-04-01,5,6\nlonger than that,2013-04-01,5,6\n", 3},
        {CARRINGTON "\x1b[31mA,2013-04-01,5,6\n", 2},
        {CARRINGTON "A,,5,6\n", 2},
        {CARRINGTON "A,2013-04-31,5,6\n", 2},
        {CARRINGTON "A,2013-04-01T24:00,5,6\n", 2},
        {CARRINGTON "A,2013-04-01T12,5,6\n", 2},
        {CARRINGTON "A,2013-04-01x,5,6\n", 2},
        {CARRINGTON "A,2013-04-01T12:00 UT,5,6\n", 2},
        {CARRINGTON "A,2013-04-01,90.1,6\n", 2},
        {CARRINGTON "A,2013-04-01,-90.1,6\n", 2},
        {CARRINGTON "A,2013-04-01,5,360.1\n", 2},
        {CARRINGTON "A,2013-04-01,5,-1\n", 2},
        {CARRINGTON "A,2013-04-01,5,\n", 2},
        {CARRINGTON "A,2013-04-01,,6\n", 2},
        {CARRINGTON "A,2013-04-01,5 N,6\n", 2},
        {CARRINGTON "A,2013-04-01,5,6,0\n", 2},
        {CARRINGTON "A,2013-04-01,5,6,201\n", 2},
        {CARRINGTON "A,2013-04-01,5,6,10,0\n", 2},
        {CARRINGTON "A,2013-04-01,5,6,10,91\n", 2},
        {EITHER "A,2013-04-01,5,6,7,\n", 2},
        {EITHER "A,2013-04-01,5,,180.5,\n", 2},
        {EITHER "A,2013-04-01,5,,,N14W24\n", 2},
        {EITHER "A,2013-04-01,,6,,N14W24\n", 2},
        {EITHER "A,2013-04-01,,,,\n", 2},
        {EITHER "A,2013-04-01,,,,N14\n", 2},
        {EITHER "A,2013-04-01,,,,NW24\n", 2},
        {EITHER "A,2013-04-01,,,,W24N14\n", 2},
        {EITHER "A,2013-04-01,,,,N91W24\n", 2},
        {EITHER "A,2013-04-01,,,,N-14W24\n", 2},
        {EITHER "A,2013-04-01,,,,N14W181\n", 2},
        {EITHER "A,2013-04-01,,,,N14W24?\n", 2},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        int line = -7;
        tl_spot_list list = {NULL, 77};
        const tl_status status = read_list(bad[i].text, &line, &list);
        if (status != TL_ERR_FORMAT || line != bad[i].line)
            fail_msg("list %zu: status %d, line %d", i, status, line);
        assert_int_equal(list.count, 77);
    }
}

static void other_failures(void **state) {
    (void)state;
    int line = -7;
    tl_spot_list list = {NULL, 77};
    assert_int_equal(tl_spot_list_read("no such folder/spots.csv", &line, &list), TL_ERR_OPEN);
    assert_int_equal(tl_spot_list_read("tests", &line, &list), TL_ERR_OPEN);
    assert_int_equal(read_list("", &line, &list), TL_ERR_EMPTY_FILE);
    assert_int_equal(
        read_list("name,time,place\nA,2013-04-01,N01W01\nB,1949-12-31,N01W01\n", &line, &list),
        TL_ERR_RANGE);
    assert_int_equal(line, -7);
    assert_int_equal(list.count, 77);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_as_written),
        cmocka_unit_test(few_columns),
        cmocka_unit_test(bad_rows_name_the_line),
        cmocka_unit_test(other_failures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
