/*
 * text.c - a text that grows.
 */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/report_internal.h"

static bool reserve(tl_report_text *text, size_t more) {
    if (text->failed)
        return false;
    if (more < text->capacity - text->length)
        return true;
    size_t capacity = text->capacity ? text->capacity : 256;
    while (capacity - text->length <= more) {
        if (capacity > SIZE_MAX / 2) {
            text->failed = true;
            return false;
        }
        capacity *= 2;
    }
    char *data = realloc(text->data, capacity);
    if (!data) {
        text->failed = true;
        return false;
    }
    text->data = data;
    text->capacity = capacity;
    return true;
}

void tl_report_text_bytes(tl_report_text *text, const void *bytes, size_t count) {
    if (!reserve(text, count))
        return;
    memcpy(text->data + text->length, bytes, count);
    text->length += count;
    text->data[text->length] = '\0';
}

void tl_report_text_add(tl_report_text *text, const char *string) {
    tl_report_text_bytes(text, string, strlen(string));
}

void tl_report_text_addf(tl_report_text *text, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    va_list again;
    va_copy(again, arguments);
    const int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    if (length < 0)
        text->failed = true;
    else if (reserve(text, (size_t)length)) {
        vsnprintf(text->data + text->length, (size_t)length + 1, format, again);
        text->length += (size_t)length;
    }
    va_end(again);
}

/* RFC 4648, section 4. */
void tl_report_text_base64(tl_report_text *text, const unsigned char *bytes, size_t count) {
    static const char digit[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    if (count > SIZE_MAX / 2 || !reserve(text, (count + 2) / 3 * 4)) {
        text->failed = true;
        return;
    }
    char *out = text->data + text->length;
    for (size_t i = 0; i < count; i += 3) {
        const unsigned b0 = bytes[i];
        const unsigned b1 = i + 1 < count ? bytes[i + 1] : 0;
        const unsigned b2 = i + 2 < count ? bytes[i + 2] : 0;
        *out++ = digit[b0 >> 2];
        *out++ = digit[(b0 & 3) << 4 | b1 >> 4];
        *out++ = '=';
        *out++ = '=';
        if (i + 1 < count)
            out[-2] = digit[(b1 & 15) << 2 | b2 >> 6];
        if (i + 2 < count)
            out[-1] = digit[b2 & 63];
    }
    *out = '\0';
    text->length = (size_t)(out - text->data);
}

const char *tl_report_text_string(const tl_report_text *text) {
    /* No UTF-8: cairo refuses to draw it, and so a drawing without its words is not taken for a
     * whole one. */
    if (text->failed)
        return "\xff";
    return text->data ? text->data : "";
}

void tl_report_text_free(tl_report_text *text) {
    free(text->data);
    *text = (tl_report_text){0};
}
