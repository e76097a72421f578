/*
 * escape.c - file names and reasons, which may hold any bytes, made safe for a
 * table, a page or a terminal.
 */
#include <string.h>

#include "report/report_internal.h"

#define REPLACEMENT 0xFFFDu

/* The allowed range of the second byte of a sequence, by its first: table 3-7. */
static bool second_byte_allowed(unsigned first, unsigned second) {
    const unsigned low = first == 0xE0 ? 0xA0 : first == 0xF0 ? 0x90 : 0x80;
    const unsigned high = first == 0xED ? 0x9F : first == 0xF4 ? 0x8F : 0xBF;
    return second >= low && second <= high;
}

size_t tl_report_utf8_step(const char *string, uint32_t *code) {
    const unsigned char *s = (const unsigned char *)string;
    const unsigned first = s[0];
    *code = REPLACEMENT;
    if (first < 0x80) {
        *code = first;
        return 1;
    }
    if (first < 0xC2 || first > 0xF4)
        return 1;
    const size_t length = first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
    if (!second_byte_allowed(first, s[1]))
        return 1;
    uint32_t value = first & (0x7Fu >> length);
    for (size_t i = 1; i < length; i++) {
        if ((s[i] & 0xC0u) != 0x80u)
            return i;
        value = value << 6 | (s[i] & 0x3Fu);
    }
    *code = value;
    return length;
}

static void add_character(tl_report_text *text, const char *string, size_t length, uint32_t code) {
    if (code == REPLACEMENT)
        tl_report_text_add(text, "\xEF\xBF\xBD");
    else
        tl_report_text_bytes(text, string, length);
}

void tl_report_add_utf8(tl_report_text *text, const char *string) {
    uint32_t code;
    for (size_t length; *string; string += length) {
        length = tl_report_utf8_step(string, &code);
        add_character(text, string, length, code);
    }
}

/* U+0000-U+001F and U+007F have pictures from U+2400 on (Unicode block "Control Pictures"). */
static void add_control_picture(tl_report_text *text, uint32_t code) {
    const uint32_t picture = code == 0x7F ? 0x2421 : 0x2400 + code;
    const unsigned char utf8[] = {0xE2, (unsigned char)(0x80 | (picture >> 6 & 0x3F)),
                                  (unsigned char)(0x80 | (picture & 0x3F))};
    tl_report_text_bytes(text, utf8, sizeof utf8);
}

void tl_report_add_html(tl_report_text *text, const char *string) {
    uint32_t code;
    for (size_t length; *string; string += length) {
        length = tl_report_utf8_step(string, &code);
        if (code == '&')
            tl_report_text_add(text, "&amp;");
        else if (code == '<')
            tl_report_text_add(text, "&lt;");
        else if (code == '>')
            tl_report_text_add(text, "&gt;");
        else if (code == '"')
            tl_report_text_add(text, "&quot;");
        else if (code == '\'')
            tl_report_text_add(text, "&#39;");
        else if (code < 0x20 || code == 0x7F)
            add_control_picture(text, code);
        else if (code > 0x7F && code < 0xA0)
            add_character(text, string, length, REPLACEMENT);
        else
            add_character(text, string, length, code);
    }
}

void tl_report_add_csv(tl_report_text *text, const char *string) {
    const size_t length = strlen(string);
    const bool quoted = strpbrk(string, ",\"\r\n") ||
                        (length > 0 && (string[0] == ' ' || string[length - 1] == ' '));
    if (!quoted) {
        tl_report_add_utf8(text, string);
        return;
    }
    tl_report_text_add(text, "\"");
    uint32_t code;
    for (size_t step; *string; string += step) {
        step = tl_report_utf8_step(string, &code);
        if (code == '"')
            tl_report_text_add(text, "\"");
        add_character(text, string, step, code);
    }
    tl_report_text_add(text, "\"");
}

/* What spreadsheets take for the start of a formula, full-width signs among them (common practice:
 * "CSV injection"). */
static bool starts_formula(uint32_t code) {
    switch (code) {
    case '=':
    case '+':
    case '-':
    case '@':
    case '\t':
    case '\r':
    case '\n':
    case 0xFF1D:
    case 0xFF0B:
    case 0xFF0D:
    case 0xFF20:
        return true;
    default:
        return false;
    }
}

void tl_report_add_sheet(tl_report_text *text, const char *string) {
    tl_report_text marked = {0};
    uint32_t code = 0;
    if (*string)
        tl_report_utf8_step(string, &code);
    tl_report_text_add(&marked, starts_formula(code) ? "'" : "");
    tl_report_text_add(&marked, string);
    tl_report_add_csv(text, tl_report_text_string(&marked));
    text->failed = text->failed || marked.failed;
    tl_report_text_free(&marked);
}

void tl_report_add_end(tl_report_text *text, const char *string, size_t most) {
    size_t characters = 0;
    uint32_t code;
    for (const char *p = string; *p; p += tl_report_utf8_step(p, &code))
        characters++;
    if (characters > most)
        tl_report_text_add(text, "...");
    for (; characters > most; characters--)
        string += tl_report_utf8_step(string, &code);
    tl_report_add_utf8(text, string);
}

/* Marks that turn the direction of writing, or end lines: they could make one name look like
 * another (Unicode Standard Annex 9). */
static bool misleading(uint32_t code) {
    return code < 0x20 || (code >= 0x7F && code < 0xA0) || code == 0x200E || code == 0x200F ||
           (code >= 0x2028 && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
}

void tl_report_add_terminal(tl_report_text *text, const char *string) {
    static const struct {
        uint32_t code;
        const char *ascii;
    } sign[] = {
        {0xB1, "+-"},     {0x2212, "-"},  {0x2013, "-"}, {0x2019, "'"},
        {0x201C, "\""},   {0x201D, "\""}, {0x2009, " "}, {0xA0, " "},
        {0x3C3, "sigma"}, {0xB0, " deg"}, {0xD7, "x"},
    };
    uint32_t code;
    for (size_t length; *string; string += length) {
        length = tl_report_utf8_step(string, &code);
        const char *ascii = misleading(code) || code == REPLACEMENT ? "?" : NULL;
        for (size_t i = 0; i < sizeof sign / sizeof *sign && !ascii; i++)
            if (sign[i].code == code)
                ascii = sign[i].ascii;
        if (ascii)
            tl_report_text_add(text, ascii);
        else
            tl_report_text_bytes(text, string, length);
    }
}
